// Five seconds of the race on the map of a chapter: everybody a disc, ours with their numbers.

const NS = "http://www.w3.org/2000/svg";
const CALM = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
const LEAST_SHARE = 0.013;
let films = 0;

async function filmOf(told) {
  const bends = await wholeNumbers(told.position.bends);
  const kept = { count: told.ours.length, frames: told.frames, frame_s: told.frame, until: told.position.until };
  kept.place_m = Race.prototype.unrolled.call(kept, told.position.first, bends);
  return { told, kept };
}

function discs(group, told) {
  group.replaceChildren();
  const least = LEAST_SHARE * told.box[2];
  return told.ours.map((number, k) => {
    const made = group.appendChild(document.createElementNS(NS, "g"));
    const disc = made.appendChild(document.createElementNS(NS, "circle"));
    disc.setAttribute("r", Math.max(told.radius[k], number ? 1.7 * least : 0.8 * least));
    if (!number) return made;
    disc.setAttribute("class", "ours");
    const text = made.appendChild(document.createElementNS(NS, "text"));
    text.setAttribute("font-size", 2.2 * least);
    text.textContent = number;
    group.append(made);
    return made;
  });
}

function place(marks, film, t) {
  const spot = [0, 0];
  marks.forEach((mark, k) => {
    const there = Race.prototype.at.call(film.kept, t, k, spot);
    mark.setAttribute("display", there ? "inline" : "none");
    if (there) mark.setAttribute("transform", `translate(${spot[0].toFixed(2)} ${spot[1].toFixed(2)})`);
  });
}

async function play(number) {
  stopFilms();
  const mine = films, told_film = told.films[number], figure = slides[number + 1].querySelector(".map");
  const svg = figure.querySelector("svg"), film = await filmOf(told_film);
  if (mine !== films) return;
  const order = [...told_film.ours.keys()];
  const marks = discs(svg.querySelector(".people"), told_film);
  // Ours lie above everybody else.
  order.filter((k) => told_film.ours[k]).forEach((k) => svg.querySelector(".people").append(marks[k]));
  figure.classList.add("playing");
  svg.setAttribute("viewBox", told_film.box.join(" "));
  const last = (told_film.frames - 1) * told_film.frame, began = performance.now();
  figure.dataset.playing = "yes";
  const step = () => {
    if (mine !== films) return;
    const t = CALM ? last / 2 : Math.min(last, (performance.now() - began) / 1000);
    place(marks, film, t);
    if (t < last && !CALM) return requestAnimationFrame(step);
    figure.dataset.playing = "done";
  };
  step();
}

// Back to the whole piece of the map, nobody on it.
function stopFilms() {
  films += 1;
  document.querySelectorAll("figure.playing").forEach((figure) => {
    figure.classList.remove("playing");
    delete figure.dataset.playing;
    const svg = figure.querySelector("svg");
    svg.setAttribute("viewBox", svg.dataset.box);
    svg.querySelector(".people").replaceChildren();
  });
  stopRide();
}

document.querySelectorAll(".play").forEach((button) => button.addEventListener("click", () => {
  const playing = button.closest("figure").dataset.playing;
  if (playing) stopFilms();
  else play(Number(button.dataset.number));
}));
