// What is asked of the desk behind the page, and what is said when it refuses.

const BASE = location.pathname.replace(/[^/]*$/, "");

export class Refused extends Error {
  constructor(status, lines, lost = null) {
    super(lines.join("\n"));
    Object.assign(this, { status, lines, lost });
  }
}

async function answered(reply) {
  let told = {};
  try {
    told = await reply.json();
  } catch {
    // An empty refusal of the door itself.
  }
  if (!reply.ok) throw new Refused(reply.status, told.told || ["The desk refused this."], told.lost);
  return told;
}

async function fetched(path, options) {
  try {
    return await fetch(BASE + path, { cache: "no-store", ...options });
  } catch {
    throw new Refused(0, ["The desk does not answer. Was it closed at the terminal?"]);
  }
}

export async function get(path, asked = {}) {
  return answered(await fetched(`${path}?${new URLSearchParams(asked)}`));
}

export async function post(path, asked = {}) {
  const options = { method: "POST", body: JSON.stringify(asked), headers: { "Content-Type": "application/json" } };
  return answered(await fetched(path, options));
}

export async function send(path, asked, data) {
  const options = { method: "POST", body: data, headers: { "Content-Type": "application/octet-stream" } };
  return answered(await fetched(`${path}?${new URLSearchParams(asked)}`, options));
}

export const answerAddress = (stem, name) => `${BASE}out/${encodeURIComponent(stem)}/${encodeURIComponent(name)}`;

// One request at a time; of those that come meanwhile only the last is sent.
export class Latest {
  constructor(carryOut) {
    Object.assign(this, { carryOut, busy: false, next: null });
  }

  async ask(...asked) {
    this.next = asked;
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.next) {
        const now = this.next;
        this.next = null;
        await this.carryOut(...now);
      }
    } finally {
      this.busy = false;
    }
  }

  drop() {
    this.next = null;
  }
}
