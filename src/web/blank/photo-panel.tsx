import { type ReactElement, useEffect, useRef, useState } from "react";
import { LengthField } from "../length-field.tsx";
import { Refused } from "../parts.tsx";
import { useSay } from "../settings.tsx";
import { type Mark, projectionOf, straightened, type XY } from "./photo.ts";

interface Props {
  readonly length: number;
  readonly width: number;
  readonly inches: boolean;
  readonly take: (picture: Blob) => void;
}

/** Dots of the straightened picture for a millimetre. */
const PER_MM = 2;
/** Larger photographs are taken smaller: more dots show nothing more at this scale. */
const MOST_DOTS = 4000;

/** A photograph of the board, marked at two or four places whose distances are known, straightened and laid under the blank. */
export function PhotoPanel(p: Props): ReactElement {
  const say = useSay();
  const canvas = useRef<HTMLCanvasElement>(null);
  const [photo, setPhoto] = useState<ImageBitmap | null>(null);
  const [marks, setMarks] = useState<readonly Mark[]>([]);
  const [refusal, setRefusal] = useState("");
  const corners: readonly XY[] = [
    [0, 0],
    [p.length, 0],
    [p.length, p.width],
    [0, p.width],
  ];

  const read = async (file: File | undefined): Promise<void> => {
    if (file === undefined) return;
    try {
      const whole = await createImageBitmap(file);
      const scale = Math.min(1, MOST_DOTS / Math.max(whole.width, whole.height));
      setPhoto(
        scale === 1
          ? whole
          : await createImageBitmap(whole, {
              resizeWidth: Math.round(whole.width * scale),
              resizeHeight: Math.round(whole.height * scale),
              resizeQuality: "high",
            }),
      );
      setMarks([]);
      setRefusal("");
    } catch {
      setRefusal(say("notPicture", file.name));
    }
  };
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (!c || photo === null) return;
    c.drawImage(photo, 0, 0);
    const r = photo.width / 120;
    c.lineWidth = r / 5;
    c.font = `${2.4 * r}px sans-serif`;
    marks.forEach((m, k) => {
      const [x, y] = m.photo;
      for (const [style, grow] of [
        ["#fbf8f1", 1.8],
        ["#a8321a", 1],
      ] as const) {
        c.strokeStyle = style;
        c.lineWidth = (grow * r) / 5;
        c.beginPath();
        c.moveTo(x - r, y);
        c.lineTo(x + r, y);
        c.moveTo(x, y - r);
        c.lineTo(x, y + r);
        c.stroke();
      }
      c.fillStyle = "#a8321a";
      c.fillText(String(k + 1), x + r, y - r);
    });
  }, [photo, marks]);

  const straighten = (): void => {
    const q = projectionOf(marks);
    const c = canvas.current;
    if (q === "few" || q === "together" || c === null || photo === null) {
      setRefusal(say(q === "together" ? "marksTogether" : "marksFew", marks.length));
      return;
    }
    const clean = new OffscreenCanvas(photo.width, photo.height).getContext("2d");
    if (clean === null) return;
    clean.drawImage(photo, 0, 0);
    const out = straightened(clean.getImageData(0, 0, photo.width, photo.height), q, p, PER_MM);
    const made = new OffscreenCanvas(out.width, out.height);
    made.getContext("2d")?.putImageData(new ImageData(out.data, out.width, out.height), 0, 0);
    setRefusal("");
    void made.convertToBlob({ type: "image/jpeg", quality: 0.85 }).then((b) => {
      p.take(b);
      setPhoto(null);
    });
  };
  return (
    <details>
      <summary>{say("photo")}</summary>
      <p className="why">{say("photoHelp")}</p>
      <label>
        {say("photoFile")} <input type="file" accept="image/png,image/jpeg,image/webp" onChange={(e) => void read(e.target.files?.[0])} />
      </label>
      {photo !== null && (
        <>
          <p role="status">{marks.length < 4 ? say("markNext", marks.length + 1) : say("marksDone")}</p>
          <canvas
            ref={canvas}
            className="photo"
            width={photo.width}
            height={photo.height}
            aria-label={say("photo")}
            onClick={(e) => {
              if (marks.length >= 4) return;
              const r = e.currentTarget.getBoundingClientRect();
              const at: XY = [((e.clientX - r.left) / r.width) * photo.width, ((e.clientY - r.top) / r.height) * photo.height];
              setMarks([...marks, { photo: at, board: corners[marks.length] }]);
            }}
          />
          {marks.map((m, k) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: a mark's number is its name
            <fieldset key={k} className="row">
              <legend>{say("mark", k + 1)}</legend>
              {(["x", "y"] as const).map((axis, n) => (
                <LengthField
                  key={axis}
                  label={`${axis} ${k + 1}`}
                  reason={axis === "x" ? say("fromEnd") : say("fromDatum")}
                  unit="mm"
                  min={-2000}
                  max={6000}
                  value={m.board[n]}
                  fallback=""
                  inches={p.inches}
                  onChange={(v) => {
                    if (typeof v !== "number") return;
                    const board: XY = n === 0 ? [v, m.board[1]] : [m.board[0], v];
                    setMarks(marks.map((o, j) => (j === k ? { ...o, board } : o)));
                  }}
                />
              ))}
            </fieldset>
          ))}
          <button type="button" onClick={straighten}>
            {say("straighten")}
          </button>{" "}
          <button type="button" disabled={marks.length === 0} onClick={() => setMarks(marks.slice(0, -1))}>
            {say("dropMark")}
          </button>
        </>
      )}
      <Refused says={refusal} />
    </details>
  );
}
