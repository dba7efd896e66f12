/*
 * Where published sources disagree. Both readings are kept; what is used, and why, stands beside them.
 */

export interface Reading {
  readonly value: string;
  readonly source: string;
}

export interface Conflict {
  readonly about: string;
  readonly readings: readonly [Reading, Reading, ...Reading[]];
  readonly used: string;
}

export const CONFLICTS: readonly Conflict[] = [
  {
    about: "modulus of rupture of white ash at 12 %",
    readings: [
      { value: "106 MPa", source: "Wood Handbook FPL-GTR-282 (2021), Table 5-3a, seen in a copy" },
      { value: "103 MPa", source: "the same handbook, worked example of Eq 5-3; 15,000 psi in inch-pound copies" },
    ],
    used: "103 MPa: two readings agree and it is the lower",
  },
  {
    about: "equilibrium moisture content at 110 F and 20 %",
    readings: [
      { value: "3.0 %", source: "Wood Handbook Table 4-2, as one copy prints it" },
      { value: "4.0 %", source: "Eq 4-5, and the neighbouring cells 4.2 and 3.9" },
    ],
    used: "4.0 %: a misprint of the copy",
  },
  {
    about: "equation of equilibrium moisture content",
    readings: [
      { value: "Eq 4-5 (9.27 % at 20 C, 50 %)", source: "Wood Handbook FPL-GTR-282 (2021), p. 4-3" },
      { value: "Eq 4-6 (9.47 % at 20 C, 50 %)", source: "the same, p. 4-4, after Glass et al. 2014" },
    ],
    used: "Eq 4-5 unless asked otherwise, and every result says which; they differ by up to 0.5 % near 20 C and 1.5 % at 0 C",
  },
  {
    about: "movement of red oak, hickory, mahogany and khaya",
    readings: [
      { value: "Table 13-5", source: "Wood Handbook, coefficients per percent, for commercial groups" },
      { value: "Tables 4-3 and 4-4 through C = 1/(3000/S0 - 20)", source: "Wood Handbook, shrinkage of single species" },
    ],
    used: "Table 13-5, the larger in each of these; the rows note what the shrinkage alone would give",
  },
  {
    about: "what ebony's shrinkage of 5.5 and 6.5 % was measured to",
    readings: [
      { value: "12 % moisture content", source: "Forest Products Laboratory technical data sheet" },
      { value: "oven-dry", source: "pages that quote the sheet" },
    ],
    used: "12 %, as the sheet has it",
  },
  {
    about: "modulus of rupture of sapele at 12 %",
    readings: [
      { value: "111 to 114 MPa", source: "Forest Products Laboratory technical data sheet" },
      { value: "105.5 MPa", source: "Wood Handbook Table 5-5a, from memory, not looked up" },
    ],
    used: "111 MPa: seen, and the lower end of what was seen",
  },
  {
    about: "hardwood dust in the air at work",
    readings: [
      { value: "3 mg/m3", source: "Great Britain, since 17 January 2020" },
      { value: "2 mg/m3", source: "European Union, since January 2023" },
    ],
    used: "both are shown with the place where they hold",
  },
  {
    about: "lower limit of h6 over 6 to 10 mm",
    readings: [
      { value: "-9 micrometres", source: "ISO 286-2, agreeing copies" },
      { value: "-10 micrometres", source: "one page about special steel" },
    ],
    used: "-9 micrometres; 10.000 mm itself belongs to this row",
  },
  {
    about: "what B means for a stiff string",
    readings: [
      { value: "f_n = n f0 sqrt(1 + B n^2), B = pi^3 E d^4 / (64 T L^2)", source: "Fletcher 1964; Fletcher and Rossing, section 2.18" },
      { value: "B0 = sqrt(pi rho^4 E / (4 T L^2)), the bracket of the intonation model", source: "J. Acoust. Soc. Am. 156(1), 683 (2024)" },
    ],
    used: "each under its own name (inharmonicity, stiffness); the first is pi^2 times the square of the second",
  },
  {
    about: "density and modulus of music wire",
    readings: [
      { value: "7800 kg/m3, 190 GPa", source: "published property page of ASTM A228 wire" },
      { value: "7850 kg/m3, 200 GPa", source: "common figures for steel, from memory" },
    ],
    used: "7800 kg/m3 and 190 GPa; tension would be 0.6 % higher with the other",
  },
  {
    about: "greatest moisture content of wood of basic gravity 0.30 and 0.90",
    readings: [
      { value: "267 and 44 %", source: "Wood Handbook chapter 4, text" },
      { value: "268.4 and 46.2 %", source: "Eq 4-3 of the same chapter" },
    ],
    used: "the equation",
  },
];
