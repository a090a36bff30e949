// Hills on the map: arrowheads that point uphill, and by how much it climbs or drops.

import { draw, said } from "./make.js";

const APART_PX = 22, LEAST_PX = 9, HEAD_PX = 4.5;

export const hillSaid = (hill) => `${hill.climb > 0 ? "climbs" : "drops"} ${said(Math.abs(hill.climb), 1).replace(".0 ", " ")}`;

// The middle of the course from cut to cut, as it lies on the screen.
function wayOf(map, ground, [first, last]) {
  const way = [];
  for (let k = first; k <= last; k++) {
    way.push(map.screen((ground.left[2 * k] + ground.right[2 * k]) / 2, (ground.left[2 * k + 1] + ground.right[2 * k + 1]) / 2));
  }
  return way;
}

// Places along a way, each with its direction: so many pixels apart, one at least.
function along(way) {
  const steps = way.slice(1).map(([x, y], i) => Math.hypot(x - way[i][0], y - way[i][1])), long = steps.reduce((sum, step) => sum + step, 0);
  if (long < LEAST_PX) return [];
  const count = Math.max(1, Math.floor(long / APART_PX)), places = [];
  let k = 0, passed = 0;
  for (let n = 0; n < count; n++) {
    const at = ((n + 0.5) * long) / count;
    while (k < steps.length - 1 && passed + steps[k] < at) { passed += steps[k]; k++; }
    const share = (at - passed) / (steps[k] || 1), [ax, ay] = way[k], [bx, by] = way[k + 1];
    places.push([ax + share * (bx - ax), ay + share * (by - ay), (bx - ax) / (steps[k] || 1), (by - ay) / (steps[k] || 1)]);
  }
  return places;
}

export function hillMarks(map, ground) {
  return ground.hills.map((hill) => {
    const up = Math.sign(hill.climb), path = along(wayOf(map, ground, hill.cuts)).map(([x, y, dx, dy]) => {
      const ahead = HEAD_PX * up, [tx, ty] = [x + dx * ahead, y + dy * ahead], [fx, fy] = [x - dx * ahead, y - dy * ahead];
      return `M${fx - dy * HEAD_PX} ${fy + dx * HEAD_PX}L${tx} ${ty}L${fx + dy * HEAD_PX} ${fy - dx * HEAD_PX}`;
    });
    return path.length ? draw("path", { class: "hill", d: path.join("") }, draw("title", { text: `${hillSaid(hill)} from ${said(hill.from, 0)} to ${said(hill.to, 0)}` })) : null;
  }).filter(Boolean);
}

// Where the name of a hill stands: half of its way along, on the course.
export function hillMiddle(ground, hill) {
  const at = (hill.from + hill.to) / 2, { station } = ground;
  const k = Math.max(hill.cuts[0], station.findLastIndex((metres, i) => metres <= at && i < hill.cuts[1]));
  const share = (at - station[k]) / Math.max(1e-9, station[k + 1] - station[k]);
  const middle = (i, c) => (ground.left[2 * i + c] + ground.right[2 * i + c]) / 2;
  return [0, 1].map((c) => middle(k, c) + share * (middle(k + 1, c) - middle(k, c)));
}
