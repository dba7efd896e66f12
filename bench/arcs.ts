import { countBlocks } from "../src/job/programs.ts";
import { CUT_ORDERS, planned, SHOPS } from "../test/jobs.ts";
import { motionsApart } from "../test/laws/hausdorff.ts";
import { readText } from "../test/laws/programs.ts";

/*
 * Text with arcs and text without, for every program of every example in both shops: how far the two motions are apart (Hausdorff, both
 * ways, mm) and how many blocks the arcs save. The test runs two of the pairs; this is all of them. Ends with 1 where 0.005 mm is not held.
 */

const ascii = new TextDecoder("latin1");
const OUTLINES = /outline|scribe|tuner-bores|markers/;
let bad = 0;
for (const order of CUT_ORDERS)
  for (const shop of SHOPS) {
    const round = planned(order, shop, 1, true).input.programs;
    const straight = planned(order, shop, 1, false).input.programs;
    let most = 0;
    let least = Number.POSITIVE_INFINITY;
    let few = 0;
    let many = 0;
    for (const [k, p] of round.entries()) {
      most = Math.max(most, motionsApart(readText(ascii.decode(p.text)), readText(ascii.decode(straight[k].text))));
      const [a, b] = [countBlocks(p.text), countBlocks(straight[k].text)];
      few += a;
      many += b;
      if (OUTLINES.test(p.file)) least = Math.min(least, b / a);
    }
    if (most > 0.005 || least < 5) bad++;
    console.log(
      `${order.padEnd(20)} ${shop.padEnd(13)} ${round.length} programs, ${most.toFixed(5)} mm apart at most, blocks ${many} -> ${few}, outlines and bores by ${least.toFixed(1)} times at least`,
    );
  }
process.exit(bad > 0 ? 1 : 0);
