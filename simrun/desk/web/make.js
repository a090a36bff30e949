// Elements of the page. Text goes in as text, whatever is in it.

const SVG = "http://www.w3.org/2000/svg";

function filled(made, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "text") made.textContent = value;
    else if (key === "value") made.value = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

export const make = (name, attributes = {}, ...children) => filled(document.createElement(name), attributes, children);
export const draw = (name, attributes = {}, ...children) => filled(document.createElementNS(SVG, name), attributes, children);

const FOOT_M = 0.3048, YARD_M = 0.9144;
let units = "metric";

export function speak(of) {
  units = of;
}

// A length as a coach says it: "85 m", or "93 yd" and "6.5 ft".
export function said(metres, digits = null) {
  if (units === "us") {
    const feet = Math.abs(metres) < 20 * FOOT_M;
    return `${(metres / (feet ? FOOT_M : YARD_M)).toFixed(digits ?? (feet ? 1 : 0))} ${feet ? "ft" : "yd"}`;
  }
  return `${metres.toFixed(digits ?? (Math.abs(metres) < 20 ? 1 : 0))} m`;
}

export function more(metres) {
  const us = units === "us", value = (us ? metres / FOOT_M : metres).toFixed(1);
  return `+${value} ${us ? "ft" : "m"}`;
}

// In what is it typed? [word, metres of one]
export function unitOf(kind) {
  if (kind === "deg") return ["°", 1];
  if (kind === "count") return ["", 1];
  if (kind === "time") return ["s", 1];
  if (units !== "us") return ["m", 1];
  return kind === "long" ? ["yd", YARD_M] : ["ft", FOOT_M];
}

export const clock = (seconds) => {
  const tenths = Math.round(seconds * 10);
  return `${Math.floor(tenths / 600)}:${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}`;
};

// A row in which a number is typed, or moved with a slider between its limits.
export function quantity({ key, label, kind, value, limits, step, help }, changed, trying) {
  const [unit, each] = unitOf(kind), digits = kind === "count" ? 0 : kind === "deg" ? 1 : 2;
  const shown = (number) => String(+(number / each).toFixed(digits));
  const typed = make("input", {
    type: "number", id: `of-${key}`, value: shown(value), step: "any", inputmode: "decimal",
    "aria-describedby": help ? `about-${key}` : null,
    onchange: () => typed.value !== "" && changed(key, Number(typed.value) * each),
  });
  const row = make("div", { class: "quantity" }, make("label", { for: `of-${key}`, text: label }),
    make("span", { class: "typed" }, typed, make("span", { class: "unit", text: unit })));
  if (limits) {
    const slide = make("input", {
      type: "range", min: limits[0], max: limits[1], step, value, "aria-label": `${label}, moved`, tabindex: "0",
      oninput: () => { typed.value = shown(Number(slide.value)); trying(key, Number(slide.value)); },
      onchange: () => changed(key, Number(slide.value)),
    });
    row.append(slide);
    row.slide = slide;
  }
  if (help) row.append(make("p", { class: "help", id: `about-${key}`, text: help }));
  row.show = (number) => {
    if (document.activeElement !== typed) typed.value = shown(number);
    if (row.slide && document.activeElement !== row.slide) row.slide.value = number;
  };
  return row;
}

export function table(head, rows, caption = "") {
  return make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": caption || head.join(", ") },
    make("table", {},
      caption ? make("caption", { text: caption }) : null,
      make("thead", {}, make("tr", {}, head.map((text) => make("th", { scope: "col", text })))),
      make("tbody", {}, rows.map((cells) => make("tr", {}, cells.map((cell) => (cell instanceof Node ? make("td", {}, cell) : make("td", { text: cell, class: /^[+−-]?\d\S* \S+$/.test(cell) ? "figure" : null }))))))));
}
