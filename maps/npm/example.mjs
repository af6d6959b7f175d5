// Three bearings, and the area that holds the emitter 95 times in 100, if what is assumed is right. node example.mjs
// @ts-check

import { readFile } from 'node:fs/promises';
import { load } from 'azimark-solver';

const solver = await load(await readFile(new URL(import.meta.resolve('azimark-solver/azimark.wasm'))));
const bearings = `id,lat,lon,bearing,north,class
B1,46.9550,-118.3843,84,true,B
B2,46.9707,-118.3600,175,true,B
B3,46.9550,-118.3350,267,true,B
`;
const reply = solver.solve({ files: [{ name: 'bearings.csv', kind: 'bearings', text: bearings }], advice: true });
console.log(reply.answer.summary);
const wide = reply.answer.regions?.find((r) => r.confidence === 0.95);
console.log(wide?.area_m2 == null ? 'no area is determined' : `${Math.round(wide.area_m2)} square metres to search`);
