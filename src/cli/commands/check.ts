import { checkSources } from "../../job/check.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

export async function check(io: Io, orderPath: string, o: { shop?: string; json?: true }): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = o.shop === undefined ? null : await source(io, o.shop, "shop");
  const result = checkSources(order, shop);
  const code = result.readable ? (result.blocking.length > 0 ? EXIT.stopped : EXIT.sound) : EXIT.badInput;
  if (o.json) {
    io.out(`${JSON.stringify({ command: "check", exitCode: code, findings: result.findings, overridden: result.overridden }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, result.findings, new Set(result.overridden.map((x) => x.rule))));
  const names = o.shop === undefined ? orderPath : `${orderPath} in ${o.shop}`;
  if (code === EXIT.sound) io.out(`${paint(io, ["bold", "green"], "sound")}  ${names}: ${countText(result.findings)}\n`);
  else if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${names}: ${countText(result.findings)}\n`);
  else io.out(`${paint(io, ["bold", "red"], "bad input")}  ${names}: ${countText(result.findings)}\n`);
  return code;
}
