// One client on a connection that stays open, and how long its requests take.
import { connect } from "node:net";

/** One request at a time on a connection that stays open, as a browser keeps it; `from` is an address of this machine. */
export function client(url, cookie, from) {
  const { hostname, port } = new URL(url);
  const socket = connect({ host: hostname, port: Number(port), localAddress: from });
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
  socket.on("error", () => waiting?.({ status: 0, bytes: 0 }));
  return {
    post: (path, form) =>
      new Promise((resolve) => {
        waiting = resolve;
        const type = "Content-Type: application/x-www-form-urlencoded";
        socket.write(
          `POST ${path} HTTP/1.1\r\nHost: ${hostname}:${port}\r\nOrigin: ${url}\r\nCookie: ${cookie}\r\n${type}\r\nContent-Length: ${Buffer.byteLength(form)}\r\n\r\n${form}`,
        );
      }),
    get: (path) =>
      new Promise((resolve) => {
        waiting = resolve;
        socket.write(
          `GET ${path} HTTP/1.1\r\nHost: ${hostname}:${port}\r\nCookie: ${cookie}\r\nAccept-Encoding: gzip, deflate, br, zstd\r\n\r\n`,
        );
      }),
    end: () => socket.destroy(),
  };
}

const quantile = (sorted, q) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * q))];

/** Asks for `path` `rounds` times; times in ms, bytes of the last answer's body on the wire. */
export async function measure(asker, path, rounds = 200) {
  const times = [];
  let last;
  for (let i = 0; i < rounds; i += 1) {
    const began = performance.now();
    last = await asker.get(path);
    times.push(performance.now() - began);
  }
  times.sort((a, b) => a - b);
  return { path, ...last, median: quantile(times, 0.5), p95: quantile(times, 0.95) };
}

/** Signs one person in; gives the cookie. */
export async function signIn(server, person) {
  const answer = await fetch(`${server.url}/sign-in`, {
    method: "POST",
    redirect: "manual",
    headers: { origin: server.url, "content-type": "application/x-www-form-urlencoded" },
    body: new URLSearchParams({ name: person.name, password: person.password }),
  });
  return answer.headers.get("set-cookie").split(";")[0];
}
