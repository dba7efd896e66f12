import type { MegaPascal, Mm, Rad } from "../units/index.ts";
import { VARIATION } from "./woods.ts";

/*
 * Will it break: bending stress at a section against the modulus of rupture, less what the grain's angle takes away.
 */

/** Bending stress (MPa) at distance c from the neutral axis of a section of one material: M c / I. */
export function bendingStress(moment: number, distance: Mm, inertia: number): MegaPascal {
  return (moment * distance) / inertia;
}

/**
 * Strength at angle `angle` between load direction and grain, Hankinson's formula: N = P Q / (P sin^n a + Q cos^n a), P along and Q
 * across the grain (R. L. Hankinson 1921, n = 2; Wood Handbook FPL-GTR-282 (2021), chapter 5, with n fitted per property). With n
 * below 2 it dips a little under Q just short of a right angle, with n above 2 it rises a little over P at small angles.
 */
export function hankinson(along: MegaPascal, across: MegaPascal, angle: Rad, exponent: number = 2): MegaPascal {
  const s = Math.abs(Math.sin(angle)) ** exponent;
  const c = Math.abs(Math.cos(angle)) ** exponent;
  return (along * across) / (along * s + across * c);
}

/** Constants of Hankinson's formula for a property: exponent n and Q/P. */
export interface GrainConstants {
  readonly exponent: number;
  readonly ratio: number;
  readonly source: string;
}

/**
 * Bending strength: the handbook gives n 1.5 to 2 and Q/P 0.04 to 0.10. The ends that warn soonest are taken. From memory, not
 * looked up.
 */
export const BENDING_GRAIN: GrainConstants = {
  exponent: 1.5,
  ratio: 0.04,
  source: "Wood Handbook chapter 5, constants of the Hankinson-type formula, from memory, not looked up",
};

/** The same ends that promise most, for the upper side of a band. From memory as well. */
export const BENDING_GRAIN_BEST: GrainConstants = { ...BENDING_GRAIN, exponent: 2, ratio: 0.1 };

/** Part of the clear-wood bending strength left at a grain angle (1 at 0). */
export function grainFactor(angle: Rad, grain: GrainConstants = BENDING_GRAIN): number {
  return hankinson(1, grain.ratio, angle, grain.exponent);
}

/** Part of the short-time strength that wood holds for ten years and more under a lasting load. From memory, not looked up. */
export const LASTING_LOAD = 0.6;

export interface StrengthCheck {
  readonly stress: MegaPascal;
  /** Mean strength at the grain angle under a lasting load. */
  readonly strength: MegaPascal;
  /** Stress over strength; at 1 the average piece is expected to break. */
  readonly use: number;
  /** The same for a weak piece: two coefficients of variation of MOR (Table 5-6) below the mean. */
  readonly useWeak: number;
}

/** Compares a bending stress with what the wood holds. `lasting` 1 judges a blow or a fall instead of string pull. */
export function checkBending(stress: MegaPascal, mor: MegaPascal, angle: Rad, lasting: number = LASTING_LOAD): StrengthCheck {
  if (!(mor > 0)) throw new RangeError(`modulus of rupture ${mor} MPa: must be above 0`);
  const strength = mor * grainFactor(angle) * lasting;
  const use = Math.abs(stress) / strength;
  return { stress, strength, use, useWeak: use / (1 - 2 * VARIATION.mor) };
}
