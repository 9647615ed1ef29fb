// A second host on this machine: a network namespace with an address of its own, as a tablet on the LAN has.
import { execFileSync } from "node:child_process";
import { chmod, mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";

const run = (program, ...args) => execFileSync(program, args, { stdio: ["ignore", "pipe", "pipe"] });

/** Whether this machine lets us make one (it takes root). */
export function possible() {
  try {
    run("ip", "netns", "add", "lb-probe");
    run("ip", "netns", "del", "lb-probe");
    return true;
  } catch {
    return false;
  }
}

/** Two ends of a cable: `server` and `other` are addresses of this machine, commands run with `inside` are the tablet. */
export function cable() {
  const id = process.pid % 1000;
  const [space, here, there] = [`lb-${id}`, `lbh${id}`, `lbt${id}`];
  // A net of its own, so that two runs on one machine do not meet.
  const net = `10.77.${process.pid % 250}`;
  const [server, tablet, other] = [`${net}.1`, `${net}.2`, `${net}.3`];
  run("ip", "netns", "add", space);
  run("ip", "link", "add", here, "type", "veth", "peer", "name", there, "netns", space);
  for (const address of [server, other]) run("ip", "addr", "add", `${address}/24`, "dev", here);
  run("ip", "link", "set", here, "up");
  run("ip", "-n", space, "addr", "add", `${tablet}/24`, "dev", there);
  run("ip", "-n", space, "link", "set", there, "up");
  run("ip", "-n", space, "link", "set", "lo", "up");
  return {
    server,
    other,
    inside: (program, ...args) => run("ip", "netns", "exec", space, program, ...args),
    space,
    remove: () => run("ip", "netns", "del", space),
  };
}

/** A Chromium that lives on the tablet's end and, once told to, trusts the practice's authority. */
export async function tablet(folder, space) {
  const home = join(folder, "home");
  const store = join(home, ".pki", "nssdb");
  await mkdir(store, { recursive: true });
  run("certutil", "-d", `sql:${store}`, "-N", "--empty-password");
  const program = join(folder, "tablet-chromium");
  await writeFile(program, `#!/bin/sh\nHOME=${home} exec ip netns exec ${space} /usr/bin/chromium "$@"\n`);
  await chmod(program, 0o755);
  return {
    program,
    trust: (certificate) =>
      run("certutil", "-d", `sql:${store}`, "-A", "-t", "C,,", "-n", "practice", "-i", certificate),
  };
}
