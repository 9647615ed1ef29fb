// Pictures as equipment sends them: an invented foot from the side, written byte by byte (PS3.5, PS3.10).

const EXPLICIT = "1.2.840.10008.1.2.1", CR = "1.2.840.10008.5.1.4.1.1.1";
export const SIZE = { columns: 600, rows: 480 };
/** Millimetres a pixel, true in the plane of the bone. */
const MM = 0.4;

/** Where a place of the foot lies on the picture: the tip of the coffin bone stands over the origin, the toe to the left. */
export const place = ([x, y]) => [Math.round((300 - x / MM) * 10) / 10, Math.round((400 - y / MM) * 10) / 10];

const angle = (degrees, mm, [x, y]) => [x - mm * Math.cos((degrees * Math.PI) / 180), y + mm * Math.sin((degrees * Math.PI) / 180)];
/** Places of landmarks in mm: a sole that rises 5 degrees, a wall of 52. */
export const FOOT = {
  G1: [-80, 0],
  G2: [20, 0],
  T: [0, 15],
  Q: [-60, 15 + 60 * Math.tan((5 * Math.PI) / 180)],
  W1: angle(52, 80, [20, 0]),
  W2: [20, 0],
};

function inside([x, y], corners) {
  let within = false;
  corners.forEach(([ax, ay], n) => {
    const [bx, by] = corners[(n + 1) % corners.length];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) within = !within;
  });
  return within;
}

/** Horn darker than bone. */
function pixels() {
  const horn = [FOOT.W2, FOOT.W1, [-90, 62], [-95, 0]].map(place);
  const bone = [FOOT.T, angle(50, 62, FOOT.T), [-55, 50], FOOT.Q].map(place);
  const all = Buffer.alloc(SIZE.columns * SIZE.rows);
  for (let y = 0; y < SIZE.rows; y++) {
    for (let x = 0; x < SIZE.columns; x++) {
      const grey = inside([x, y], bone) ? 210 : inside([x, y], horn) ? 110 : 20;
      all[y * SIZE.columns + x] = grey + ((x * 7 + y * 13) % 9);
    }
  }
  return all;
}

function element(group, number, vr, value) {
  const bytes = Buffer.isBuffer(value) ? value : Buffer.from(value.length % 2 ? value + (vr === "UI" ? "\0" : " ") : value);
  const long = vr === "OB";
  const head = Buffer.alloc(long ? 12 : 8);
  head.writeUInt16LE(group, 0);
  head.writeUInt16LE(number, 2);
  head.write(vr, 4);
  if (long) head.writeUInt32LE(bytes.length, 8);
  else head.writeUInt16LE(bytes.length, 6);
  return Buffer.concat([head, bytes]);
}

const short = (number, value) => element(0x28, number, "US", Buffer.from([value & 255, value >> 8]));

/** A lateral view for an order. @param {{ accession: string, instance: string, side: "L" | "R" }} of */
export function lateral({ accession, instance, side }) {
  const uid = `2.25.${instance}`;
  const meta = Buffer.concat([element(2, 2, "UI", CR), element(2, 3, "UI", uid), element(2, 0x10, "UI", EXPLICIT), element(2, 0x12, "UI", "2.25.1")]);
  const length = Buffer.alloc(4);
  length.writeUInt32LE(meta.length);
  const set = [
    element(8, 0x16, "UI", CR),
    element(8, 0x18, "UI", uid),
    element(8, 0x50, "SH", accession),
    element(8, 0x60, "CS", "CR"),
    element(0x10, 0x10, "PN", "Invented^Horse"),
    element(0x18, 0x5101, "CS", "LM"),
    element(0x20, 0xd, "UI", `2.25.9${instance}`),
    element(0x20, 0x13, "IS", "1"),
    element(0x20, 0x62, "CS", side),
    short(2, 1),
    element(0x28, 4, "CS", "MONOCHROME2"),
    short(0x10, SIZE.rows),
    short(0x11, SIZE.columns),
    element(0x28, 0x30, "DS", `${MM}\\${MM}`),
    element(0x28, 0xa02, "CS", "FIDUCIAL"),
    short(0x100, 8),
    short(0x101, 8),
    short(0x102, 7),
    short(0x103, 0),
    element(0x7fe0, 0x10, "OB", pixels()),
  ];
  return Buffer.concat([Buffer.alloc(128), Buffer.from("DICM"), element(2, 0, "UL", length), meta, ...set]);
}
