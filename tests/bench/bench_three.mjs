// Model matrices of a plain hierarchy, every bone posed by a quaternion, set and update: beside the scene graph of the
// npm package three. Both sides in one run, in turn, each on one thread:
//
//     npm install --prefix tests/bench
//     cmake --build build/release --target bench
//     node tests/bench/bench_three.mjs build/release/tests/bench_solve
//
// Prints one line of JSON for each size: medians of five rounds, in nanoseconds a bone.

import { execFileSync } from "node:child_process";
import process from "node:process";

const program = process.argv[2];
if (!program) {
  console.error("usage: node bench_three.mjs PATH/TO/bench_solve");
  process.exit(2);
}
const { Object3D, Quaternion, Vector3 } = await import("three").catch(() => {
  console.error("three is not installed: npm install --prefix tests/bench");
  process.exit(2);
});

const ROUNDS = 5;
const across = new Vector3(1, 0, 0), up = new Vector3(0, 1, 0);

// The hierarchy of bench_solve.c: the same parents, translations and turns.
function hierarchy(count) {
  const bones = [], posed = [];
  for (let i = 0; i < count; i++) {
    const bone = new Object3D();
    bone.position.set(0, 0.1, 0.05 * (i % 5));
    const rest = new Quaternion().setFromAxisAngle(up, 0.1 * (i % 7));
    posed.push(rest.multiply(new Quaternion().setFromAxisAngle(across, 0.05 * (i % 11))));
    const parent = i - 1 - (i % 3) < 0 ? i - 1 : i - 1 - (i % 3);
    if (parent >= 0) bones[parent].add(bone);
    bones.push(bone);
  }
  return { bones, posed };
}

function time({ bones, posed }) {
  const repeat = Math.ceil(400000 / bones.length);
  const start = process.hrtime.bigint();
  for (let j = 0; j < repeat; j++) {
    for (let i = 0; i < bones.length; i++) bones[i].quaternion.copy(posed[i]);
    bones[0].updateMatrixWorld();
  }
  return Number(process.hrtime.bigint() - start) / repeat / bones.length;
}

const median = (list) => list.sort((a, b) => a - b)[list.length >> 1];

const sizes = [200, 2000];
const scenes = sizes.map(hierarchy);
const theirs = sizes.map(() => []), ours = sizes.map(() => []);
scenes.forEach(time);
for (let round = 0; round < ROUNDS; round++) {
  scenes.forEach((scene, i) => theirs[i].push(time(scene)));
  for (const line of execFileSync(program, { encoding: "utf8" }).trim().split("\n")) {
    const row = JSON.parse(line);
    const size = sizes.indexOf(row.bones);
    if (row.case === "hierarchy, set" && size >= 0) ours[size].push(row.fid_ns_per_bone);
  }
}
sizes.forEach((bones, i) => {
  const fid = median(ours[i]), three = median(theirs[i]);
  console.log(JSON.stringify({ case: "hierarchy, set", bones, fid_ns_per_bone: +fid.toFixed(1), three_ns_per_bone: +three.toFixed(1), times_as_fast: +(three / fid).toFixed(2) }));
});
