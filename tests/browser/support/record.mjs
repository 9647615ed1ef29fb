// What the practice holds, read from its file beside the running server.
import { execFile } from "node:child_process";
import { join } from "node:path";
import { promisify } from "node:util";

const run = promisify(execFile);

/** Rows of any question to the practice's file. */
export async function ask(data, query) {
  const { stdout } = await run("sqlite3", ["-readonly", "-json", "-cmd", ".timeout 5000", join(data, "practice.sqlite"), query], { maxBuffer: 64 * 1024 * 1024 });
  return stdout.trim() ? JSON.parse(stdout) : [];
}

/** Every entry of a visit in the order of receipt: its id, whose it is, by which clock, whether it came late, what it says. */
export async function entries(data, visit) {
  const own = "seq, lower(hex(id)) as id, late, lower(hex(entered_by)) as who, lower(hex(supersedes)) as corrects, seen_at, offset_ms, body";
  const rows = await ask(data, `select ${own} from entry where visit_id = x'${visit.replaceAll("-", "")}' order by seq`);
  return rows.map(({ body, ...row }) => ({ ...row, ...JSON.parse(body ?? "{}") }));
}
