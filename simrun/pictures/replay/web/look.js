// How is everybody drawn? Colours that colour-blind people can tell, and shapes beside them.

const INK = {
  ground: "#d6ddcb", course: "#f8f5eb", paper: "#ffffff", text: "#1f272b", muted: "#566267",
  barrier: "#422f20", marked: "#007a6e", open: "#a69e8c", ours: "#0066b2", ring: "#001e42",
  followed: "#f0e442", other: "#626e76", ghost: "#a3005c", sky: "#e6eef2",
};
const TEAM_FILLS = ["#e69f00", "#56b4e9", "#009e73", "#cc79a7", "#d55e00", "#8c8c8c", "#b8a000", "#7a4e9c"];
const LINE_FILLS = { inside: "#d55e00", middle: "#56b4e9", outside: "#009e73" };
const RAMP = ["#00204d", "#31446b", "#666970", "#958f78", "#cab969", "#ffea46"];
const SHAPES = ["round", "square", "triangle"];

function onRamp(share) {
  const place = Math.max(0, Math.min(1, share)) * (RAMP.length - 1);
  const before = Math.min(RAMP.length - 2, Math.floor(place));
  const mix = [1, 3, 5].map((k) => {
    const a = parseInt(RAMP[before].slice(k, k + 2), 16);
    const b = parseInt(RAMP[before + 1].slice(k, k + 2), 16);
    return Math.round(a + (place - before) * (b - a));
  });
  return `rgb(${mix.join(",")})`;
}

class Look {
  constructor(race) {
    this.race = race;
    const lost = race.lost.flat().filter((seconds) => seconds !== null).sort((a, b) => a - b);
    this.most_lost = Math.max(1, lost.length ? lost[Math.floor(0.95 * (lost.length - 1))] : 1);
  }

  isOurs(runner) {
    return this.race.runners[runner].team === this.race.ours;
  }

  fill(state, runner) {
    const who = this.race.runners[runner];
    switch (state.colour) {
      case "team":
        return this.isOurs(runner) ? INK.ours : TEAM_FILLS[who.team % TEAM_FILLS.length];
      case "line":
        return LINE_FILLS[who.line] || INK.other;
      case "lost": {
        const lost = this.race.lostAt(state.t, runner);
        return lost === null ? INK.paper : onRamp(lost / this.most_lost);
      }
      case "speed":
        return onRamp(this.race.speedAt(state.t, runner) / (1.3 * who.pace));
      default:
        return this.isOurs(runner) ? INK.ours : INK.other;
    }
  }

  shape(state, runner) {
    if (state.colour === "line") {
      const found = ["inside", "middle", "outside"].indexOf(this.race.runners[runner].line);
      return SHAPES[Math.max(0, found)];
    }
    if (state.colour !== "team") return "round";
    return SHAPES[Math.floor(this.race.runners[runner].team / TEAM_FILLS.length) % SHAPES.length];
  }

  // What the colours mean: [colour, shape, words] each.
  legend(state) {
    const ours = this.race.ours >= 0 ? [[INK.ours, "round", this.race.teams[this.race.ours]]] : [];
    const low = this.most_lost.toFixed(1);
    switch (state.colour) {
      case "team":
        return this.race.teams.map((name, team) => [
          team === this.race.ours ? INK.ours : TEAM_FILLS[team % TEAM_FILLS.length],
          SHAPES[Math.floor(team / TEAM_FILLS.length) % SHAPES.length], name,
        ]);
      case "line":
        return Object.entries(LINE_FILLS).map(([word, fill], k) => [fill, SHAPES[k], `${word} at the first turn`]);
      case "lost":
        return [[INK.paper, "round", "no checkpoint yet"], [onRamp(0), "round", "0.0 s lost"],
          [onRamp(0.5), "round", `${(this.most_lost / 2).toFixed(1)} s`], [onRamp(1), "round", `${low} s or more`]];
      case "speed":
        return [[onRamp(0), "round", "standing"], [onRamp(0.5), "round", "two thirds of race pace"],
          [onRamp(0.77), "round", "race pace"], [onRamp(1), "round", "30 % faster"]];
      default:
        return [...ours, [INK.other, "round", "the others"]];
    }
  }
}

function tracedShape(context, shape, x, y, radius) {
  context.beginPath();
  if (shape === "square") {
    context.rect(x - 0.9 * radius, y - 0.9 * radius, 1.8 * radius, 1.8 * radius);
  } else if (shape === "triangle") {
    context.moveTo(x, y - 1.2 * radius);
    context.lineTo(x + 1.1 * radius, y + 0.8 * radius);
    context.lineTo(x - 1.1 * radius, y + 0.8 * radius);
    context.closePath();
  } else {
    context.arc(x, y, radius, 0, 2 * Math.PI);
  }
}

// A name on a plate, where it covers no other; `taken` are the plates so far.
function plate(context, text, x, y, size, inks, taken) {
  context.font = `600 ${size}px system-ui, sans-serif`;
  const wide = context.measureText(text).width + 8, high = size + 7;
  for (const [dx, dy] of [[12, -12], [12, 14], [-12, -12], [-12, 14], [0, -30], [0, 32], [24, -44], [24, 46]]) {
    const left = x + dx - (dx < 0 ? wide : dx === 0 ? wide / 2 : 0), top = y + dy - high / 2;
    const box = [left, top, left + wide, top + high];
    if (taken.some((b) => box[0] < b[2] && box[2] > b[0] && box[1] < b[3] && box[3] > b[1])) continue;
    taken.push(box);
    context.strokeStyle = inks[0];
    context.lineWidth = 1.5;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(Math.max(left, Math.min(left + wide, x)), Math.max(top, Math.min(top + high, y)));
    context.stroke();
    context.fillStyle = inks[0];
    context.fillRect(left, top, wide, high);
    context.fillStyle = inks[1];
    context.textBaseline = "middle";
    context.textAlign = "left";
    context.fillText(text, left + 4, top + high / 2 + 0.5);
    return;
  }
}
