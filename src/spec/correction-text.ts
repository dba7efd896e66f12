import type { OrderCorrection, ShopCorrection } from "./corrections.ts";

type Bare<T> = T extends unknown ? Omit<T, "date" | "reason" | "undone"> : never;

/** A correction in one line of plain words. */
export function correctionText(e: Bare<OrderCorrection | ShopCorrection>): string {
  const pc = (v: number): string => `${v >= 1 ? "+" : ""}${((v - 1) * 100).toFixed(3)} %`;
  const deg = (v: number): string => `${((v * 180) / Math.PI).toFixed(3)} deg`;
  switch (e.kind) {
    case "axes":
      return `axes: x ${pc(e.x)}, y ${pc(e.y)}, z ${pc(e.z)}, y leans ${deg(e.square)} toward +x`;
    case "cutter":
      return `cutter ${e.number} cuts ${e.diameter} mm wide${e.runOut === undefined ? "" : `, ${e.runOut} mm of it running out of true`}`;
    case "placement":
      return `neck in the blank: tip ${e.tipFromEnd.toFixed(2)} mm from the end, centreline ${e.centreFromDatum.toFixed(2)} mm from the datum edge, turned ${deg(e.rotation)}`;
    case "turn":
      return `after turning: x ${e.x} mm, y ${e.y} mm${e.angle === undefined ? "" : `, turned ${deg(e.angle)} about the zero`}`;
    case "height":
      return `${e.side} side came out ${Math.abs(e.by)} mm too ${e.by > 0 ? "high" : "deep"}`;
    case "blank":
      return `blank as measured:${e.shaftThickness === undefined ? "" : ` shaft ${e.shaftThickness} mm`}${e.boardThickness === undefined ? "" : ` board ${e.boardThickness} mm`}`;
  }
}
