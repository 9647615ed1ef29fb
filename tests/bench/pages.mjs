// How long the pages of the three-year demonstration take, side by side in one run. Run it on an idle machine:
//   node tests/bench/pages.mjs
// Times are those of a client on this machine, one request at a time; the ratio is against a page without data.
import { connect } from "node:net";
import { demo } from "../browser/support/server.mjs";

const ROUNDS = 200;

/** One request on a connection that stays open, as a browser keeps it. */
function client(url, cookie) {
  const { hostname, port } = new URL(url);
  const socket = connect(Number(port), hostname);
  socket.setNoDelay(true);
  let waiting;
  let seen = Buffer.alloc(0);
  socket.on("data", (piece) => {
    seen = Buffer.concat([seen, piece]);
    const head = seen.indexOf("\r\n\r\n");
    if (head < 0) return;
    const words = seen.subarray(0, head).toString().toLowerCase();
    const length = words.match(/content-length: (\d+)/);
    const whole = length ? seen.length >= head + 4 + Number(length[1]) : seen.subarray(-5).toString() === "0\r\n\r\n";
    if (!whole) return;
    const bytes = seen.length - head - 4;
    seen = Buffer.alloc(0);
    waiting({ status: Number(words.split(" ")[1]), bytes });
  });
  return {
    get: (path) =>
      new Promise((resolve) => {
        waiting = resolve;
        socket.write(
          `GET ${path} HTTP/1.1\r\nHost: ${hostname}:${port}\r\nCookie: ${cookie}\r\nAccept-Encoding: gzip\r\n\r\n`,
        );
      }),
    end: () => socket.destroy(),
  };
}

const quantile = (sorted, q) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * q))];

async function measure(asker, path) {
  const times = [];
  let last;
  for (let i = 0; i < ROUNDS; i += 1) {
    const began = performance.now();
    last = await asker.get(path);
    times.push(performance.now() - began);
  }
  times.sort((a, b) => a - b);
  return { path, ...last, median: quantile(times, 0.5), p95: quantile(times, 0.95) };
}

/** Signs in and finds today's exam and the horse with the longest history. */
async function prepare(server) {
  const vet = server.people.vet[0];
  const signedIn = await fetch(`${server.url}/sign-in`, {
    method: "POST",
    redirect: "manual",
    headers: { origin: server.url, "content-type": "application/x-www-form-urlencoded" },
    body: new URLSearchParams({ name: vet.name, password: vet.password }),
  });
  const cookie = signedIn.headers.get("set-cookie").split(";")[0];
  const read = async (path) => (await fetch(server.url + path, { headers: { cookie } })).text();
  const links = (text, shape) => [...new Set([...text.matchAll(shape)].map((m) => m[1]))];
  const visits = links(await read("/"), /href="(\/visits\/[0-9a-f-]{36})/g);
  const horses = links(await read("/horses"), /href="(\/horses\/[0-9a-f-]{36})/g);
  let longest = { horse: horses[0], size: 0 };
  for (const horse of horses) {
    const size = (await read(`${horse}/history`)).length;
    if (size > longest.size) longest = { horse, size };
  }
  return { cookie, visit: visits[0], horse: longest.horse };
}

const server = await demo();
try {
  const { cookie, visit, horse } = await prepare(server);
  const asker = client(server.url, cookie);
  const pages = ["/sign-in", "/", "/call", `${visit}/exam`, horse, `${horse}/history`, "/follow-ups", "/search?q=bri"];
  const rows = [];
  for (const page of pages) {
    await measure(asker, page);
    rows.push(await measure(asker, page));
  }
  const name = (path) => path.replace(/[0-9a-f]{8}-[0-9a-f-]{27}/, "{id}");
  console.log("| page | status | KB on the wire | median ms | 95th ms | times a page without data |");
  console.log("|---|---|---|---|---|---|");
  for (const r of rows) {
    const cells = [name(r.path), r.status, (r.bytes / 1024).toFixed(1), r.median.toFixed(2), r.p95.toFixed(2)];
    console.log(`| ${cells.join(" | ")} | ${(r.median / rows[0].median).toFixed(1)} |`);
  }
  asker.end();
} finally {
  await server.stop();
}
