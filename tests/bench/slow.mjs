// A vet's taps beside five hundred connections that send their heads letter by letter, and two hundred sign-ins at once. The
// budget is 300 ms for the 95th of a hundred saves, and none may fail. Run it with the release program on an idle machine:
//   node tests/bench/slow.mjs
import { randomUUID } from "node:crypto";
import { connect } from "node:net";
import { demo } from "../browser/support/server.mjs";
import { client, signIn } from "./support.mjs";

const [SLOW, AN_ADDRESS, SIGN_INS, SAVES, BUDGET] = [500, 50, 200, 100, 300];

/** Of the loopback range every address is this machine's, and each counts by itself. */
const address = (room, number) => `127.0.${room}.${1 + (number % 250)}`;

/** One request on a connection of its own. Gives { status, ms, body }; status 0 when the connection was refused. */
function ask(url, from, head, body = "") {
  const { hostname, port } = new URL(url);
  const began = performance.now();
  return new Promise((resolve) => {
    const socket = connect({ host: hostname, port: Number(port), localAddress: from });
    let seen = "";
    socket.on("data", (piece) => (seen += piece));
    socket.on("error", () => {});
    socket.on("close", () => resolve({ status: Number(seen.split(" ")[1] ?? 0), ms: performance.now() - began, body: seen }));
    socket.write(`${head}Host: ${hostname}:${port}\r\nOrigin: ${url}\r\nConnection: close\r\n`);
    socket.write(`Content-Type: application/x-www-form-urlencoded\r\nContent-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`);
  });
}

/** Keeps one connection open with a head that never ends, and begins anew when it is cut. @returns {() => void} ends it */
function drip(url, from) {
  const { hostname, port } = new URL(url);
  let over = false;
  let socket;
  const begin = () => {
    if (over) return;
    socket = connect({ host: hostname, port: Number(port), localAddress: from });
    socket.write(`GET / HTTP/1.1\r\nHost: ${hostname}:${port}\r\nX-Slow: `);
    const more = setInterval(() => socket.write("a"), 500);
    socket.on("error", () => {});
    socket.on("close", () => {
      clearInterval(more);
      setTimeout(begin, 50);
    });
  };
  begin();
  return () => {
    over = true;
    socket.destroy();
  };
}

const server = await demo();
try {
  const cookie = await signIn(server, server.people.vet[0]);
  const page = await ask(server.url, address(9, 0), `GET /horses HTTP/1.1\r\nCookie: ${cookie}\r\n`);
  const horse = page.body.match(/\/horses\/([0-9a-f-]{36})/)[1];
  const open = await ask(server.url, address(9, 0), `GET /horses/${horse}/contacts HTTP/1.1\r\nCookie: ${cookie}\r\n`);
  const [on, at] = ["on", "at"].map((name) => open.body.match(new RegExp(`name="${name}"[^>]*value="([^"]*)"`))?.[1] ?? "");
  const form = () => new URLSearchParams({ submission: randomUUID(), channel: "phone", way: "in", person: "Bench", words: "Asked when we come.", on, at });
  const vet = client(server.url, cookie, address(9, 0));
  const save = async () => {
    const began = performance.now();
    const { status } = await vet.post(`/horses/${horse}/contacts`, form().toString());
    return { status, ms: performance.now() - began };
  };
  const saves = async () => {
    const all = [];
    for (let i = 0; i < SAVES; i += 1) all.push(await save());
    return all;
  };
  const quiet = await saves();
  const ends = Array.from({ length: SLOW }, (_, i) => drip(server.url, address(1, Math.floor(i / AN_ADDRESS))));
  await new Promise((resolve) => setTimeout(resolve, 1000));
  const wrong = new URLSearchParams({ name: "Nobody Here", password: "none of anybody" });
  const tries = Array.from({ length: SIGN_INS }, (_, i) => {
    wrong.set("name", `Nobody ${i}`);
    return ask(server.url, address(2, i), "POST /sign-in HTTP/1.1\r\n", wrong.toString());
  });
  const busy = await saves();
  const answers = (await Promise.all(tries)).map((one) => one.status);
  ends.forEach((end) => end());
  vet.end();
  const row = (words, all) => {
    const times = all.map((one) => one.ms).sort((a, b) => a - b);
    const failed = all.filter((one) => one.status !== 303).length;
    console.log(`| ${words} | ${times[SAVES / 2].toFixed(1)} | ${times[Math.floor(SAVES * 0.95)].toFixed(1)} | ${failed} |`);
    return { p95: times[Math.floor(SAVES * 0.95)], failed };
  };
  console.log("| | median ms | 95th ms | failed |\n|---|---|---|---|");
  row("alone", quiet);
  const { p95, failed } = row("beside them", busy);
  const counted = answers.reduce((all, status) => ({ ...all, [status]: (all[status] ?? 0) + 1 }), {});
  console.log(`sign-ins answered: ${JSON.stringify(counted)}`);
  if (p95 > BUDGET || failed > 0) process.exitCode = 1;
} finally {
  await server.stop();
}
