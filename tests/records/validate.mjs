// Validates FHIR bundles, one JSON text a line on standard input, with the npm
// package "fhir" (structure, cardinality, formats and required value sets of
// FHIR R4). Prints a line for each: "ok", or what is wrong.
import { createRequire } from "node:module";
import { createInterface } from "node:readline";

const require = createRequire(process.argv[2] + "/");
const { Fhir } = require("fhir");
const fhir = new Fhir();
for await (const line of createInterface({ input: process.stdin })) {
  const { valid, messages } = fhir.validate(JSON.parse(line), { errorOnUnexpected: true });
  const wrong = messages.filter((m) => m.severity === "error" || m.severity === "fatal");
  console.log(valid && wrong.length === 0 ? "ok" : messages.map((m) => `${m.location}: ${m.message}`).join("; "));
}
