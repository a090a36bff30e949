// What stands beside the course, as a runner sees it: simple, and told apart by its shape.

const WOOD = "#6b4a2f", LEAF = "#557044", LEAF_EDGE = "#3d5230", HEDGE = "#71894f", WALL = "#c2ab8d", ROOF = "#7d4b3a";
const POND = "#7fa9bd", BOARD = "#fdfbf2", POST_FLAG = "#d55e00";
const HAIRS = ["#3b2a20", "#6b4a2f", "#a8783f", "#1f1a18"], SKINS = ["#e0b48f", "#c79a76", "#9a6a48", "#6f4a33"];
const SHIRTS = ["#969ea3", "#b4babd", "#7f898e"];

// How far its middle stands off the edge, how high it is, both in metres, and how it is drawn: `put` knows where
// its foot is, and how many pixels a metre is there.
const LOOKS = {
  tree: { off: 3.5, high: 7, draw: (put) => drawTree(put, 0, 1) },
  trees: {
    off: 6, high: 7,
    draw: (put) => [[-3.2, 0.9], [3.1, 0.85], [0, 1]].forEach(([aside, size]) => drawTree(put, aside, size)),
  },
  hedge: {
    off: 4, high: 1.9,
    draw: (put) => {
      put.box(-3.5, 3.5, 0, 1.9, HEDGE, 0.5);
      for (let k = -3; k <= 3; k++) put.disc(k, 1.75, 0.45, HEDGE);
    },
  },
  building: {
    off: 7, high: 5.4,
    draw: (put) => {
      put.box(-3.6, 3.6, 0, 3.2, WALL);
      put.shape([[-4, 3.1], [0, 5.4], [4, 3.1]], ROOF);
      put.box(-0.6, 0.6, 0, 2.1, WOOD);
      put.box(1.7, 2.7, 1.2, 2.2, INK.sky);
    },
  },
  mast: {
    off: 4, high: 9,
    draw: (put) => {
      put.shape([[-0.9, 0], [-0.1, 8], [0.1, 8], [0.9, 0], [0.6, 0], [0, 6.5], [-0.6, 0]], WOOD);
      put.disc(0, 8, 1.2, BOARD);
      put.disc(0, 8, 0.3, WOOD);
    },
  },
  water: { off: 5, high: 0.4, draw: (put) => put.pool(3.5, 2.2, POND) },
  low: {
    off: 2.2, high: 1.3,
    draw: (put) => {
      put.box(-1.1, 1.1, 0.35, 1.1, WOOD, 0.1);
      put.disc(-0.7, 0.35, 0.35, INK.text);
      put.disc(0.7, 0.35, 0.35, INK.text);
    },
  },
  post: {
    off: 1.5, high: 2.6,
    draw: (put) => {
      put.box(-0.08, 0.08, 0, 2.6, WOOD);
      put.box(-0.7, 0.7, 1.7, 2.5, BOARD);
    },
  },
  gatepost: { off: 0.15, high: 1.6, draw: (put) => put.box(-0.17, 0.17, 0, 1.6, WOOD) },
  turnpost: {
    off: 0.3, high: 2.4,
    draw: (put) => {
      put.box(-0.09, 0.09, 0, 2.4, BOARD);
      put.box(-0.09, 0.09, 0.8, 1.6, POST_FLAG);
      put.shape([[0.05, 2.4], [1, 2.1], [0.05, 1.8]], POST_FLAG);
    },
  },
};

function drawTree(put, aside, size) {
  put.box(aside - 0.22 * size, aside + 0.22 * size, 0, 2.6 * size, WOOD);
  for (const [x, up, radius] of [[-1.2, 3.6, 1.5], [1.2, 3.7, 1.5], [0, 5.1, 1.9]]) {
    put.disc(aside + x * size, up * size, radius * size, LEAF, LEAF_EDGE);
  }
}

// Draws upright shapes at a spot before the eye; x to the right of the spot and up, in metres.
class Put {
  constructor(context, x, foot, unit) {
    Object.assign(this, { context, x, foot, unit });
  }

  spot(aside, up) {
    return [this.x + aside * this.unit, this.foot - up * this.unit];
  }

  // Everything has a fine edge: like colours before one another stay apart.
  filled(ink, edge = INK.text) {
    const { context } = this;
    context.fillStyle = ink;
    context.fill();
    context.strokeStyle = edge;
    context.lineWidth = Math.min(1.5, Math.max(0.5, 0.05 * this.unit));
    context.stroke();
  }

  box(left, right, low, top, ink, round = 0) {
    this.context.beginPath();
    this.context.roundRect(...this.spot(left, top), (right - left) * this.unit, (top - low) * this.unit, round * this.unit);
    this.filled(ink);
  }

  disc(aside, up, radius, ink, edge) {
    this.context.beginPath();
    this.context.arc(...this.spot(aside, up), radius * this.unit, 0, 2 * Math.PI);
    this.filled(ink, edge);
  }

  shape(points, ink) {
    this.context.beginPath();
    for (const point of points) this.context.lineTo(...this.spot(...point));
    this.context.closePath();
    this.filled(ink);
  }

  // Flat on the ground, seen from a man's height: the further off, the flatter.
  pool(half, deep, ink) {
    this.context.beginPath();
    this.context.ellipse(this.x, this.foot, half * this.unit, Math.min(half, deep * this.flat) * this.unit, 0, 0, 2 * Math.PI);
    this.filled(ink);
  }
}
