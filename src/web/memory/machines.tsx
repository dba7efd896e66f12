import { type ReactElement, useEffect, useState } from "react";
import { listTable } from "../api.ts";
import { Heads, Refused } from "../parts.tsx";
import { useSay } from "../settings.tsx";
import { useRows } from "./rows.tsx";

interface Cutter {
  readonly number: number;
  readonly name: string;
  readonly diameter: number;
  /** In mm. */
  readonly life?: number;
}

/** Machines, cutters with how far they went, and hardware: as the shop's file says, read from its memory. */
export function Machines(): ReactElement {
  const say = useSay();
  const cutters = useRows<Cutter>("cutter");
  const hardware = useRows<{ readonly name?: string; readonly title?: string }>("hardware");
  const [worn, setWorn] = useState<{ readonly [name: string]: number }>({});
  useEffect(() => {
    listTable("cutter").then(
      (all) => setWorn(Object.fromEntries(all.map((h) => [h.name, h.worn ?? 0]))),
      () => undefined,
    );
  }, []);
  return (
    <section aria-label={say("ofTheShop")}>
      <h3>{say("ofTheShop")}</h3>
      <details>
        <summary>{`${say("cuttersHere")}: ${cutters.rows.length}`}</summary>
        <table>
          <Heads names={[say("cutter"), say("wentSoFar"), say("lifeOf")]} />
          <tbody>
            {cutters.rows.map(({ name, row }) => (
              <tr key={name}>
                <th scope="row">{`${name.replace(/-t\d+$/, "")} T${row.number}, ${row.name}`}</th>
                <td className="number">{((worn[name] ?? 0) / 1000).toFixed(1)} m</td>
                <td className="number">{row.life === undefined ? "–" : `${(row.life / 1000).toFixed(0)} m`}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
      <details>
        <summary>{`${say("hardwareHere")}: ${hardware.rows.length}`}</summary>
        <ul>
          {hardware.rows.map(({ name, row }) => (
            <li key={name}>{row.title ?? row.name ?? name}</li>
          ))}
        </ul>
      </details>
      <Refused says={cutters.refusal || hardware.refusal} />
    </section>
  );
}
