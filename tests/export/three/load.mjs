// Reads a GLB with three.js as a viewer does and prints what it sees: bounds of every node, morph weights, and bounds at moments of the animation.
import { readFileSync } from "node:fs";
import { AnimationMixer, Box3 } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";

globalThis.self = globalThis;
const file = readFileSync(process.argv[2]);
const gltf = await new GLTFLoader().parseAsync(file.buffer.slice(file.byteOffset, file.byteOffset + file.byteLength), "");

function bounds() {
  gltf.scene.updateMatrixWorld(true);
  const found = {};
  for (const node of gltf.scene.children.flatMap((child) => (child.children.length && !child.isMesh ? [child, ...child.children] : [child]))) {
    const box = new Box3().setFromObject(node, true);
    // the loader writes names its own way and keeps the file's beside them
    if (!box.isEmpty()) found[node.userData.name ?? node.name] = [box.min.toArray(), box.max.toArray()];
  }
  return found;
}

const tracks = gltf.animations.flatMap((clip) => clip.tracks);
const weights = tracks.filter((track) => track.name.endsWith(".morphTargetInfluences"));
const moments = {};
if (gltf.animations.length) {
  const mixer = new AnimationMixer(gltf.scene);
  mixer.clipAction(gltf.animations[0]).play();
  const times = [...new Set(tracks.flatMap((track) => [...track.times]))].sort((a, b) => a - b);
  for (const time of times) {
    mixer.setTime(time);
    moments[time] = bounds();
  }
}
console.log(JSON.stringify({
  bounds: bounds(),
  weights: weights.map((track) => [Math.min(...track.values), Math.max(...track.values)]),
  moments,
}));
