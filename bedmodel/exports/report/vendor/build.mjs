// Makes three.js anew, in a folder of its own:
//   npm install three@0.187.0 esbuild@0.28.2
//   node build.mjs
// and then writes into BUILT.json what was made of what. Only a person who wants another
// version of the library needs this; bedmodel and its tests do not.
import { createHash } from "node:crypto";
import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";

const packages = createRequire(join(process.cwd(), "here.js"));
const esbuild = packages("esbuild");
const here = import.meta.dirname;
const three = dirname(dirname(packages.resolve("three")));
const version = (name) => JSON.parse(readFileSync(
  join(name === "three" ? three : dirname(dirname(packages.resolve("esbuild"))), "package.json"))).version;

await esbuild.build({
  entryPoints: [join(here, "entry.js")],
  nodePaths: [join(process.cwd(), "node_modules")],
  outfile: join(here, "three.js"),
  bundle: true,
  minify: true,
  format: "iife",
  globalName: "THREE",
  target: "es2020",
  charset: "ascii",
  legalComments: "inline",
});
copyFileSync(join(three, "LICENSE"), join(here, "LICENSE-three.txt"));
const sha256 = (name) => createHash("sha256").update(readFileSync(join(here, name))).digest("hex");
const files = ["three.js", "entry.js", "build.mjs", "LICENSE-three.txt"];
writeFileSync(join(here, "BUILT.json"), JSON.stringify({
  library: "three.js", version: version("three"), licence: "MIT",
  bundler: `esbuild ${version("esbuild")}`,
  sha256: Object.fromEntries(files.map((name) => [name, sha256(name)])),
}, null, 1) + "\n");
