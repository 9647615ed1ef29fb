// How long the pages of the three-year demonstration take, side by side in one run. Run it on an idle machine:
//   node tests/bench/pages.mjs
// Times are those of a client on this machine, one request at a time; the ratio is against a page without data.
import { demo } from "../browser/support/server.mjs";
import { client, measure, signIn } from "./support.mjs";

/** Signs in and finds today's exam and the horse with the longest history. */
async function prepare(server) {
  const cookie = await signIn(server, server.people.vet[0]);
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
