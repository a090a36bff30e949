// The empty course through a runner's eyes, from one place to the next; no name tells what comes.

const RIDE_M_S = 12, RIDE_FRAME_S = 0.1;
let ride = 0;

// Nobody but one runner, who follows the way shown on the map.
function lonely(ground, from, to) {
  const path = told.ground.way, frames = [], last = Math.min(ground.length, to);
  for (let at = from; at <= last; at += RIDE_M_S * RIDE_FRAME_S) frames.push(along(path, at));
  return {
    frames: frames.length, frame_s: RIDE_FRAME_S, count: 1, until: [frames.length], runners: [{ name: "", team: 0, radius: 0.25, pace: 4 }],
    at(t, _, into) {
      const exact = Math.max(0, Math.min(frames.length - 1, t / RIDE_FRAME_S)), before = Math.floor(exact);
      const after = frames[Math.min(before + 1, frames.length - 1)], share = exact - before;
      [0, 1].forEach((k) => (into[k] = frames[before][k] * (1 - share) + after[k] * share));
      return true;
    },
    stationAt: (t) => Math.min(last, from + t * RIDE_M_S),
    last_s: (frames.length - 1) * RIDE_FRAME_S,
  };
}

// The point of a way told as metres, x, y, metres, x, y, ...
function along(path, at) {
  let k = 0;
  while (k + 5 < path.length && path[k + 3] < at) k += 3;
  const length = Math.max(1e-9, path[k + 3] - path[k]), share = Math.max(0, Math.min(1, (at - path[k]) / length));
  return [1, 2].map((axis) => path[k + axis] * (1 - share) + path[k + 3 + axis] * share);
}

class EmptyCourse extends EyeView {
  drawThings() {}
  drawWords() {}
  drawPlan() {}
}

function rideOn(number) {
  stopFilms();
  const mine = ride, figure = slides[number + 1].querySelector(".map"), canvas = figure.querySelector(".eye");
  const ground = new Ground(told.ground), [from, to] = told.eyes[number], runner = lonely(ground, from, to);
  const view = new EmptyCourse(canvas, null, ground, [runner], null);
  canvas.hidden = false;
  figure.classList.add("riding");
  const began = performance.now();
  const step = () => {
    if (mine !== ride) return;
    const t = Math.min(runner.last_s, (performance.now() - began) / 1000);
    view.draw({ t, rider: 0, size: 1, names: false, calm: CALM, follow: {}, colour: "" });
    if (t < runner.last_s) return requestAnimationFrame(step);
    canvas.dataset.ridden = "yes";
  };
  step();
}

// The view ahead from every place that is told by what is left to go.
function drawViews() {
  if (!told.ground.way) return;
  const ground = new Ground(told.ground);
  slides[walk.now].querySelectorAll("canvas.ahead").forEach((canvas) => {
    const at = Number(canvas.dataset.at);
    new EmptyCourse(canvas, null, ground, [lonely(ground, at, at + 30)], null)
      .draw({ t: 0, rider: 0, size: 1, names: false, calm: true, follow: {}, colour: "" });
    canvas.dataset.drawn = "yes";
  });
}

window.addEventListener("resize", drawViews);

function stopRide() {
  ride += 1;
  document.querySelectorAll(".eye:not([hidden])").forEach((canvas) => {
    canvas.hidden = true;
    canvas.closest("figure").classList.remove("riding");
  });
}

document.querySelectorAll(".ride").forEach((button) => button.addEventListener("click", () => {
  const shown = !button.closest("figure").querySelector(".eye").hidden;
  if (shown) stopFilms();
  else rideOn(Number(button.dataset.number));
}));
