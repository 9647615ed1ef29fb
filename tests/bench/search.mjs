// The search box beside a practice of fifty thousand horses, against the ninety of the demonstration, in one run.
// The budget is 50 ms while typing. Run it on an idle machine, with sqlite3 on it:
//   node tests/bench/search.mjs
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { demo } from "../browser/support/server.mjs";
import { client, measure, signIn } from "./support.mjs";

const TYPED = ["briar", "name4", "yard 12", "000004321", "table 49", "nam", "zz", "b", "nothing of this", "27600000"];
const MORE = `
  with recursive n (i) as (select 1 union all select i + 1 from n where i < 50000)
  insert into search_line (words, kind, ref)
  select 'Name' || i || char(10) || 'Stable ' || (i * 7919 % 50000) || char(10) || (276000000000000 + i)
         || char(10) || char(10) || char(10) || 'Yard ' || (i % 300),
         'horse', (select ref from search_line where kind = 'horse' limit 1)
  from n`;

const server = await demo();
try {
  const asker = client(server.url, await signIn(server, server.people.desk[0]));
  const all = async () => {
    const rows = [];
    for (const typed of TYPED) rows.push(await measure(asker, `/search?q=${encodeURIComponent(typed)}`, 50));
    return rows;
  };
  const few = await all();
  execFileSync("sqlite3", [join(server.data, "practice.sqlite"), MORE]);
  const many = await all();
  console.log("| typed | 90 horses, median ms | 50,000 more, median ms | 95th ms | times |");
  console.log("|---|---|---|---|---|");
  TYPED.forEach((typed, i) => {
    const times = (many[i].median / few[i].median).toFixed(1);
    console.log(`| ${typed} | ${few[i].median.toFixed(2)} | ${many[i].median.toFixed(2)} | ${many[i].p95.toFixed(2)} | ${times} |`);
  });
  asker.end();
} finally {
  await server.stop();
}
