// Starts the program under test on a port of its own and stops it by its process.
import { spawn } from "node:child_process";
import { cp, mkdir, mkdtemp, readFile, readdir, rename, rm, stat } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

const program = process.env.LIMBLEDGER ?? new URL("../../../target/release/limbledger", import.meta.url).pathname;

/** Runs `limbledger ARGS` until it says where it listens. Gives { url, data, code, stop, kill }. */
export async function start(args, data, listen = "127.0.0.1:0") {
  const child = spawn(program, [...args, "--data", data, "--listen", listen], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  let out = "";
  let err = "";
  child.stderr.on("data", (piece) => (err += piece));
  const url = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the server did not start:\n${out}\n${err}`)), 120_000);
    child.stdout.on("data", (piece) => {
      out += piece;
      const found = out.match(/listening on (\S+)/);
      if (found) {
        clearTimeout(late);
        resolve(found[1].replace(/\/$/, ""));
      }
    });
    child.on("exit", (status) => reject(new Error(`the server ended with ${status}:\n${err}`)));
  });
  const end = (signal) =>
    new Promise((resolve) => {
      child.removeAllListeners("exit");
      if (child.exitCode !== null || child.signalCode !== null) return resolve();
      child.on("exit", resolve);
      child.kill(signal);
    });
  // `kill` is a power cut: no time to put anything away.
  return { url, data, stop: () => end("SIGTERM"), kill: () => end("SIGKILL"), code: () => err.match(/code[^:]*: (\S+)/)?.[1] };
}

/** A scratch folder and how to be rid of it. */
export async function scratch() {
  const folder = await mkdtemp(join(tmpdir(), "limbledger-"));
  return { folder, remove: () => rm(folder, { recursive: true, force: true }) };
}

/** Runs `limbledger ARGS` to its end, with these words on its standard input. */
export const ran = (args, words = "") =>
  new Promise((resolve, reject) => {
    const child = spawn(program, args, { stdio: ["pipe", "ignore", "pipe"] });
    child.stdin.on("error", () => {}).end(words);
    let err = "";
    child.stderr.on("data", (piece) => (err += piece));
    child.on("exit", (status) => (status === 0 ? resolve() : reject(new Error(`${args[0]} ended with ${status}:\n${err}`))));
  });

/**
 * A folder with the demonstration as this program fills it today; made once, since a build without optimising takes
 * half a minute for it, and never served itself. `npm test` has it made before the first journey asks.
 */
export async function filled() {
  const output = new URL("../../output/", import.meta.url).pathname;
  const today = new Date().toLocaleDateString("sv");
  const folder = join(output, `filled-${today}-${Math.round((await stat(program)).mtimeMs)}`);
  if (await stat(folder).catch(() => null)) return folder;
  await mkdir(output, { recursive: true });
  for (const old of await readdir(output)) if (old.startsWith("filled-")) await rm(join(output, old), { recursive: true });
  const made = await scratch();
  await ran(["demo", "--fill-only", "--data", join(made.folder, "demo")]);
  await cp(join(made.folder, "demo"), `${folder}.part`, { recursive: true });
  await rename(`${folder}.part`, folder);
  await made.remove();
  return folder;
}

/** A filled demonstration practice of its own, served; sign-ins by role: [{ name, password }]. */
export async function demo() {
  const { folder, remove } = await scratch();
  const data = join(folder, "demo");
  await cp(await filled(), data, { recursive: true });
  const server = await start(["serve"], data);
  const lines = (await readFile(join(data, "demo-sign-ins.tsv"), "utf8")).trim().split("\n");
  const people = {};
  for (const line of lines) {
    const [role, name, password] = line.split("\t");
    (people[role] ??= []).push({ name, password });
  }
  const served = { ...server, people, halt: server.stop };
  served.stop = () => served.halt().then(remove);
  return served;
}
