// Reads a GLB from the path given and prints the Khronos validator's report as JSON.
import { readFileSync } from "node:fs";
import validator from "gltf-validator";

const bytes = new Uint8Array(readFileSync(process.argv[2]));
const report = await validator.validateBytes(bytes, { maxIssues: 50 });
console.log(JSON.stringify(report));
