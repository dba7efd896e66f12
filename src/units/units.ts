/**
 * Units as types. A plain number may be given where a unit is asked, but one unit never passes for another.
 * Inside the program lengths are millimetres, angles radians, times seconds, forces newtons; mm/min and rpm exist
 * only at the machine's door and inches only at the person's.
 */
type Unit<Name extends string> = number & { readonly __unit?: Name };

export type Mm = Unit<"mm">;
export type Mm2 = Unit<"mm2">;
export type Mm3 = Unit<"mm3">;
export type Rad = Unit<"rad">;
export type Deg = Unit<"deg">;
export type Seconds = Unit<"s">;
export type MmPerSecond = Unit<"mm/s">;
export type MmPerMin = Unit<"mm/min">;
export type MmPerSecond2 = Unit<"mm/s2">;
export type Rpm = Unit<"rpm">;
export type Newton = Unit<"N">;
export type NewtonPerMm = Unit<"N/mm">;
export type Watt = Unit<"W">;
export type MegaPascal = Unit<"MPa">;
export type Cents = Unit<"cent">;
export type Percent = Unit<"%">;

/** Exact by definition (international inch, 1959). */
export const MM_PER_INCH = 25.4;

export const degToRad = (deg: Deg): Rad => (deg * Math.PI) / 180;
export const radToDeg = (rad: Rad): Deg => (rad * 180) / Math.PI;
export const perMinute = (v: MmPerSecond): MmPerMin => v * 60;
export const perSecond = (v: MmPerMin): MmPerSecond => v / 60;
