import { type ReactElement, useState } from "react";
import { correctionText, undoneAt } from "../../job/readings.ts";
import { Refused, sentence } from "../parts.tsx";
import { useSay } from "../settings.tsx";
import type { Word } from "../words.ts";
import { Correct, type What } from "./correct.tsx";
import { type Papers, rewrite, today } from "./keeping.tsx";

/** The words over each form. */
const ABOUT: { readonly [W in What]: Word } = {
  axes: "measuredAxes",
  cutter: "measuredCutter",
  turn: "measuredTurn",
  marks: "measuredMarks",
  height: "measuredHeight",
  blank: "measuredBlank",
};

/** All that was measured and put right, of this piece and of this machine, with the day; forms for more. */
export function Corrections(p: { readonly papers: Papers }): ReactElement {
  const say = useSay();
  const [said, setSaid] = useState("");
  const lists = [
    { ofShop: false, title: say("ofThisPiece"), entries: p.papers.neck.order.corrections ?? [] },
    { ofShop: true, title: say("ofThisMachine"), entries: p.papers.shop?.corrections ?? [] },
  ] as const;
  return (
    <details>
      <summary>{say("corrections")}</summary>
      {lists.map(({ ofShop, title, entries }) => (
        <section key={title} aria-label={title}>
          <h3>{title}</h3>
          {entries.length === 0 && <p className="why">{say("nothingCorrected")}</p>}
          <ol>
            {entries.map((e, k) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: an entry's place is its name
              <li key={k} className={e.undone === undefined ? "" : "undone"}>
                {correctionText(e)} <span className="where">{`${e.date}, ${e.reason}`}</span>{" "}
                {e.undone === undefined ? (
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("takeBack")}: ${correctionText(e)}`}
                    onClick={() => {
                      setSaid("");
                      rewrite(p.papers, ofShop, (all) => undoneAt(all, k, today())).catch((x: unknown) => setSaid(sentence(x)));
                    }}
                  >
                    {say("takeBack")}
                  </button>
                ) : (
                  <span className="where">{say("takenBack", e.undone)}</span>
                )}
              </li>
            ))}
          </ol>
        </section>
      ))}
      <Refused says={said} />
      <h3>{say("measureMore")}</h3>
      {(["axes", "cutter", "blank", "height", "turn", "marks"] as const).map((what) => (
        <details key={what}>
          <summary>{say(ABOUT[what])}</summary>
          <Correct what={what} papers={p.papers} />
        </details>
      ))}
    </details>
  );
}
