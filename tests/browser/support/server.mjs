// Starts the program under test on a port of its own and stops it by its process.
import { spawn } from "node:child_process";
import { mkdtemp, readFile, rm } from "node:fs/promises";
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

/** A filled demonstration practice, served; sign-ins by role: [{ name, password }]. */
export async function demo(...more) {
  const { folder, remove } = await scratch();
  const data = join(folder, "demo");
  const server = await start(["demo", ...more], data);
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
