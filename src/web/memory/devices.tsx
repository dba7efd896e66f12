import { type ReactElement, useCallback, useEffect, useState } from "react";
import { type LanState, newCode, readLan, withdrawDevice } from "../api.ts";
import { Heads, Refused, sentence } from "../parts.tsx";
import type { Say } from "../settings.tsx";

/** Devices that may use the bench over the network, and the code for another; only the first screen sees them. */
export function Devices({ say }: { readonly say: Say }): ReactElement {
  const [lan, setLan] = useState<LanState | "none" | "elsewhere" | null>(null);
  const [refusal, setRefusal] = useState("");
  const fail = useCallback((e: unknown): void => setRefusal(sentence(e)), []);
  useEffect(() => {
    const look = (): void => void readLan().then(setLan, fail);
    look();
    const again = setInterval(look, 5000);
    return () => clearInterval(again);
  }, [fail]);
  const code = typeof lan === "object" ? (lan?.code ?? null) : null;
  return (
    <section aria-label={say("devices")}>
      <h3>{say("devices")}</h3>
      <Refused says={refusal} />
      {lan === "none" && <p className="why">{say("noLan")}</p>}
      {lan === "elsewhere" && <p className="why">{say("lanElsewhere")}</p>}
      {typeof lan === "object" && lan !== null && (
        <>
          {code === null ? (
            <p>{say("noCode")}</p>
          ) : (
            <div className="pairing">
              {lan.qr !== null && <img src={`data:image/svg+xml,${encodeURIComponent(lan.qr)}`} alt={say("qrCode")} />}
              <div>
                <p className="code">{`${code.code.slice(0, 4)} ${code.code.slice(4)}`}</p>
                <p>{say("pairHelp", lan.addresses[0] ?? "–", new Date(code.until).toLocaleTimeString(document.documentElement.lang))}</p>
              </div>
            </div>
          )}
          <button type="button" onClick={() => newCode().then(setLan, fail)}>
            {say("newCode")}
          </button>
          {!lan.secure && <p className="caution">{say("notSecure")}</p>}
          {lan.devices.length === 0 ? (
            <p className="why">{say("noDevices")}</p>
          ) : (
            <table>
              <Heads names={[say("device"), say("since"), say("deviceKey")]} />
              <tbody>
                {lan.devices.map((d) => (
                  <tr key={d.id}>
                    <th scope="row">{d.name}</th>
                    <td>{d.since.slice(0, 10)}</td>
                    <td>
                      {d.withdrawn === null ? (
                        <button
                          type="button"
                          className="small"
                          aria-label={`${say("withdraw")}: ${d.name}`}
                          onClick={() => withdrawDevice(d.id).then(setLan, fail)}
                        >
                          {say("withdraw")}
                        </button>
                      ) : (
                        say("withdrawn", d.withdrawn.slice(0, 10))
                      )}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
        </>
      )}
    </section>
  );
}
