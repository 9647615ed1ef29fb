// The air between a tablet and the practice: a proxy of its own for each tablet, on this machine only, that loses, tears,
// doubles and delays what is sent, before, during and after the practice's commit.
import http from "node:http";

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** What a gate on the way says instead of the practice: none of it is the practice's word. */
const GATES = [
  [502, "Bad gateway"],
  [503, "Later"],
  [200, "<title>Welcome to the yard's guest network</title>"],
  [204, ""],
];

/** All that can happen to one send, by name. Each gets {practice, client, dice, wait}. */
const KINDS = {
  /** Cut before it reaches the practice. */
  before: async ({ client }) => client.cut(),
  /** Cut while the practice reads it. */
  during: async ({ practice, client, dice }) => {
    await practice.half(dice.below(80));
    client.cut();
  },
  /** Cut after the practice has committed, before a word of the answer. */
  after: async ({ practice, client }) => {
    await practice.send();
    client.cut();
  },
  /** Committed, and the answer tears. */
  torn: async ({ practice, client, dice }) => {
    await practice.send();
    client.raw(dice.pick(["HTTP/1.1 204 No Cont", "HTTP/1.1 200 OK\r\ncontent-length: 4000\r\npreference-applied: return=minimal\r\n\r\n<!doctype"]));
  },
  /** Sent twice at once. */
  twice: async ({ practice, client }) => {
    const both = await Promise.all([practice.send(), practice.send()]);
    client.answer(both[1]);
  },
  /** Sent, answered, and the same sent again a while later. */
  echo: async ({ practice, client, dice, later }) => {
    client.answer(await practice.send());
    later(pause(50 + dice.below(1500)).then(practice.send));
  },
  slow: async ({ practice, client, dice }) => {
    await pause(dice.below(400));
    const answer = await practice.send();
    await pause(dice.below(400));
    client.answer(answer);
  },
  /** A gate answers, before the practice heard of it or after it committed. */
  gate: async ({ practice, client, dice }) => {
    if (dice.chance(0.5)) await practice.send();
    const [status, text] = dice.pick(GATES);
    client.answer({ status, headers: { "content-type": "text/html" }, body: Buffer.from(text) });
  },
  /** Neither taken nor answered, until the weather turns. */
  hang: async ({ client, turns }) => {
    await turns();
    client.cut();
  },
  /** The practice's machine loses its power while this is on its way in, or just after. */
  power: async ({ practice, client, dice, lose }) => {
    const sent = practice.send().catch(() => {});
    await pause(dice.below(12));
    await lose();
    await sent;
    client.cut();
  },
};

export const FAULTS = Object.keys(KINDS);

/** Whether a request carries something that is to be kept. */
const carries = (request) => request.method === "POST" && request.headers.prefer === "return=minimal" && !request.url.endsWith("/unsent");

/**
 * @param {string} practice the address of the server
 * @param {{below: Function, chance: Function, pick: Function}} dice
 */
export async function weather(practice, dice) {
  const { host, port } = new URL(practice);
  const sockets = new Set();
  const pending = new Set();
  let now = { kinds: [], share: 0, dark: false };
  let turned = [];
  let lose = async () => {};
  /** What went through with an answer that no repeat may have, and what befell the sends. */
  const seen = { wrong: [], sends: 0, faults: {} };

  function forward(request, body, half) {
    return new Promise((resolve, reject) => {
      const headers = { ...request.headers, host, connection: "close" };
      if (headers.origin) headers.origin = practice;
      const onward = http.request({ host: "127.0.0.1", port, path: request.url, method: request.method, headers, agent: false }, (answer) => {
        const pieces = [];
        answer.on("data", (piece) => pieces.push(piece));
        answer.on("error", reject);
        answer.on("end", () => {
          if (answer.statusCode >= 500) seen.wrong.push(`${request.method} ${request.url}: ${answer.statusCode}`);
          resolve({ status: answer.statusCode, headers: answer.headers, body: Buffer.concat(pieces) });
        });
      });
      onward.on("error", reject);
      if (half === undefined) return onward.end(body);
      onward.write(body.subarray(0, Math.floor((body.length * half) / 100)), () => setTimeout(() => resolve(onward.destroy()), 5));
    });
  }

  async function pass(request, response) {
    const pieces = [];
    for await (const piece of request) pieces.push(piece);
    const body = Buffer.concat(pieces);
    const client = {
      cut: () => response.destroy(),
      raw: (text) => response.socket?.end(text),
      answer: ({ status, headers, body }) => {
        const { connection, "transfer-encoding": _, ...rest } = headers;
        response.writeHead(status, rest).end(body);
      },
    };
    if (now.dark) return client.cut();
    const way = { send: () => forward(request, body), half: (share) => forward(request, body, share) };
    const kind = carries(request) && now.kinds.length && dice.chance(now.share) ? dice.pick(now.kinds) : "";
    seen.sends += carries(request);
    if (kind) seen.faults[kind] = (seen.faults[kind] ?? 0) + 1;
    try {
      if (!kind) return client.answer(await way.send());
      const later = (work) => pending.add(work.catch(() => {}));
      const turns = () => new Promise((done) => turned.push(done));
      await KINDS[kind]({ practice: way, client, dice, later, turns, lose });
    } catch {
      client.cut();
    }
  }

  const server = http.createServer((request, response) => void pass(request, response).catch(() => response.destroy()));
  server.on("connection", (socket) => {
    sockets.add(socket);
    socket.on("error", () => {}).on("close", () => sockets.delete(socket));
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));

  /** From now on these befall that share of the sends; dark: nothing passes at all. */
  function turn(kinds = [], { share = 0.6, dark = false } = {}) {
    now = { kinds, share, dark };
    if (dark) for (const socket of sockets) socket.destroy();
    const waiting = turned;
    turned = [];
    for (const done of waiting) done();
  }

  return {
    url: `http://127.0.0.1:${server.address().port}`,
    seen,
    turn,
    /** How the practice loses its power. @param {() => Promise<void>} how */
    cuts: (how) => (lose = how),
    /** Waits for what was to be sent again later. */
    calm: () => Promise.all(pending),
    close: async () => {
      turn();
      await Promise.all(pending);
      for (const socket of sockets) socket.destroy();
      await new Promise((done) => server.close(done));
    },
  };
}
