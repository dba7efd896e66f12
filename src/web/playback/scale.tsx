import { type ReactElement, useEffect, useRef } from "react";
import { rampTable } from "../../job/live.ts";
import { useSay } from "../settings.tsx";

/** What the colours of a quantity mean, from nothing to the most. */
export function Scale(p: {
  readonly ramp: "above" | "below";
  readonly most: number;
  readonly unit: string;
  readonly says: string;
  readonly dark?: boolean;
}): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (!c) return;
    const table = rampTable(p.ramp);
    for (let k = 0; k < 256; k++) {
      const o = 3 * (p.dark ? 255 - k : k);
      c.fillStyle = `rgb(${table[o]},${table[o + 1]},${table[o + 2]})`;
      c.fillRect(k, 0, 1, 10);
    }
  }, [p.ramp, p.dark]);
  return (
    <figure className="scale">
      <figcaption>{p.says}</figcaption>
      <span>0</span> <canvas ref={canvas} width={256} height={10} aria-hidden /> <span>{`${p.most.toPrecision(2)} ${p.unit}`}</span>
    </figure>
  );
}

/** How much of a surface stands how far from where it should. */
export function Distribution(p: { readonly edges: readonly number[]; readonly cells: readonly number[] }): ReactElement {
  const say = useSay();
  const all = Math.max(
    1,
    p.cells.reduce((a, v) => a + v, 0),
  );
  const name = (k: number): string =>
    k === 0 ? `< ${p.edges[0]}` : k === p.edges.length ? `> ${p.edges.at(-1)}` : `${p.edges[k - 1]} – ${p.edges[k]}`;
  return (
    <table className="bars">
      <caption>{say("distribution")}</caption>
      <tbody>
        {p.cells.map((n, k) => (
          <tr key={name(k)}>
            <th scope="row" className="number">
              {name(k)} mm
            </th>
            <td>
              <span className="bar" style={{ width: `${(14 * n) / all}rem` }} />{" "}
              {((100 * n) / all).toFixed(n > 0 && n / all < 0.001 ? 3 : 1)} %
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
