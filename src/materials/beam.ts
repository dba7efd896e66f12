import type { MegaPascal, Mm, Mm2, Newton } from "../units/index.ts";

/*
 * A neck as a slender beam of several materials glued together: plane sections stay plane, no shear, small slopes (Euler and
 * Bernoulli). Composite sections: J. M. Gere and B. J. Goodno, Mechanics of Materials, chapter "Stresses in beams (advanced
 * topics)", general theory (sum of E I) and transformed-section method; both give the same numbers and the tests hold them to it.
 *
 * Signs: z is any height axis across the beam. A positive moment puts the side of larger z in compression, as string pull above
 * the neutral axis does: the ends rise toward +z, the middle stays low. Positive curvature is that bend (second derivative of z).
 */

/** One material of a section. A hole is a part with negative area and inertia and the modulus of what is missing. */
export interface Part {
  readonly modulus: MegaPascal;
  readonly area: Mm2;
  /** z of its centroid. */
  readonly centroid: Mm;
  /** Second moment of area about its own centroid, mm4. */
  readonly inertia: number;
}

export interface CompositeSection {
  /** Sum of E A, N. */
  readonly axial: number;
  /** Sum of E I about the neutral axis, N mm2. */
  readonly bending: number;
  /** z of the neutral axis. */
  readonly neutral: Mm;
}

/** A rectangle as a part: width across, from z = bottom to z = top. */
export function rectanglePart(modulus: MegaPascal, width: Mm, bottom: Mm, top: Mm): Part {
  const height = top - bottom;
  return { modulus, area: width * height, centroid: (bottom + top) / 2, inertia: (width * height ** 3) / 12 };
}

/** Stiffness of a composite section by the general theory: neutral axis where the sum of E A (z - neutral) is nothing. */
export function compositeSection(parts: readonly Part[]): CompositeSection {
  let axial = 0;
  let first = 0;
  for (const p of parts) {
    axial += p.modulus * p.area;
    first += p.modulus * p.area * p.centroid;
  }
  if (!(axial > 0)) throw new RangeError(`section stiffness ${axial} N: the parts must add up to more than nothing`);
  const neutral = first / axial;
  let bending = 0;
  for (const p of parts) bending += p.modulus * (p.inertia + p.area * (p.centroid - neutral) ** 2);
  return { axial, bending, neutral };
}

/** The same by the transformed-section method: every width times n = E / reference; inertia in mm4 of the reference material. */
export function transformedSection(
  parts: readonly Part[],
  reference: MegaPascal,
): { readonly area: Mm2; readonly neutral: Mm; readonly inertia: number } {
  let area = 0;
  let first = 0;
  let second = 0;
  for (const p of parts) {
    const n = p.modulus / reference;
    area += n * p.area;
    first += n * p.area * p.centroid;
    second += n * (p.inertia + p.area * p.centroid ** 2);
  }
  const neutral = first / area;
  return { area, neutral, inertia: second - area * neutral * neutral };
}

/** Bending stress (MPa, tension positive) at height z in the material of that modulus: -E M (z - neutral) / EI. */
export function compositeStress(section: CompositeSection, modulus: MegaPascal, z: Mm, moment: number): MegaPascal {
  return (-modulus * moment * (z - section.neutral)) / section.bending;
}

/** A bent line: height and slope at each x, from height 0 and slope 0 at xs[0]. Curvature is linear between the places given. */
export interface BentLine {
  readonly xs: Float64Array;
  readonly curvature: Float64Array;
  readonly slope: Float64Array;
  readonly height: Float64Array;
}

/** Integrates curvature (1/mm) twice along x; exact when curvature is linear between the places. xs must rise. */
export function bend(xs: ArrayLike<number>, curvature: ArrayLike<number>): BentLine {
  const n = xs.length;
  if (n < 2 || curvature.length !== n)
    throw new RangeError(`beam with ${n} places and ${curvature.length} curvatures: at least two, and as many of each`);
  const slope = new Float64Array(n);
  const height = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    const h = xs[i] - xs[i - 1];
    if (!(h > 0)) throw new RangeError(`beam place ${i} at ${xs[i]} mm: must lie beyond the one before, ${xs[i - 1]} mm`);
    const k0 = curvature[i - 1];
    const k1 = curvature[i];
    slope[i] = slope[i - 1] + (h * (k0 + k1)) / 2;
    height[i] = height[i - 1] + slope[i - 1] * h + (h * h * (2 * k0 + k1)) / 6;
  }
  return { xs: Float64Array.from(xs), curvature: Float64Array.from(curvature), slope, height };
}

/** Curvature M / EI at each place. */
export function curvatures(moments: ArrayLike<number>, bending: ArrayLike<number>): Float64Array {
  return Float64Array.from({ length: moments.length }, (_, i) => moments[i] / bending[i]);
}

/** Height of the bent line at x, by the cubic the segment really is. x outside the line is an error. */
export function heightAt(line: BentLine, x: Mm): Mm {
  const { xs, curvature, slope, height } = line;
  const last = xs.length - 1;
  if (!(x >= xs[0] && x <= xs[last])) throw new RangeError(`x ${x} mm: must lie on the beam, ${xs[0]} to ${xs[last]} mm`);
  let i = 0;
  while (i < last - 1 && xs[i + 1] < x) i++;
  const t = x - xs[i];
  const k = (curvature[i + 1] - curvature[i]) / (xs[i + 1] - xs[i]);
  return height[i] + slope[i] * t + (curvature[i] * t * t) / 2 + (k * t * t * t) / 6;
}

/** How far the line hangs below the straight edge laid on it from `from` to `to`, at x: positive is relief, negative a hump. */
export function reliefAt(line: BentLine, from: Mm, to: Mm, x: Mm): Mm {
  const z0 = heightAt(line, from);
  const z1 = heightAt(line, to);
  return z0 + ((z1 - z0) * (x - from)) / (to - from) - heightAt(line, x);
}

/** The greatest relief (largest in size, its sign kept) between `from` and `to`, and where it is. */
export function greatestRelief(line: BentLine, from: Mm, to: Mm): { readonly x: Mm; readonly relief: Mm } {
  const { xs, curvature, slope } = line;
  const chord = (heightAt(line, to) - heightAt(line, from)) / (to - from);
  let best = { x: from, relief: 0 };
  const offer = (x: Mm): void => {
    if (!(x > from && x < to)) return;
    const relief = reliefAt(line, from, to, x);
    if (Math.abs(relief) > Math.abs(best.relief)) best = { x, relief };
  };
  for (let i = 0; i + 1 < xs.length; i++) {
    // The slope is quadratic in the segment; the gap is greatest where it equals the chord's.
    const a = (curvature[i + 1] - curvature[i]) / (2 * (xs[i + 1] - xs[i]));
    for (const t of quadraticRoots(a, curvature[i], slope[i] - chord)) {
      if (t >= 0 && t <= xs[i + 1] - xs[i]) offer(xs[i] + t);
    }
    offer(xs[i]);
  }
  return best;
}

function quadraticRoots(a: number, b: number, c: number): readonly number[] {
  const d = b * b - 4 * a * c;
  if (d < 0) return [];
  const q = -(b + (b < 0 ? -1 : 1) * Math.sqrt(d)) / 2;
  const roots: number[] = [];
  if (q !== 0) roots.push(c / q);
  if (a !== 0) roots.push(q / a);
  return roots;
}

/**
 * Rod force (N) that brings the relief at x to `asked`. `strings` is the line bent by the strings, `rodPerNewton` the line bent by one
 * newton in the rod (curvature -lever/EI under the rod, 0 elsewhere). Linear, so exact. Positive: the rod works against the strings.
 */
export function rodForce(strings: BentLine, rodPerNewton: BentLine, from: Mm, to: Mm, x: Mm, asked: Mm): Newton {
  const perNewton = -reliefAt(rodPerNewton, from, to, x);
  if (perNewton === 0)
    throw new RangeError(`rod between ${from} and ${to} mm: it does not bend the neck there, so no force can set the relief`);
  return (reliefAt(strings, from, to, x) - asked) / perNewton;
}

/** Sagitta (mm) over a length of a beam under constant moment: M L^2 / (8 EI). */
export function uniformSagitta(moment: number, length: Mm, bending: number): Mm {
  return (moment * length * length) / (8 * bending);
}
