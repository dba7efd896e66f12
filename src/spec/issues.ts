import type * as z from "zod";
import type { Finding } from "../units/index.ts";
import { finding } from "../units/index.ts";
import type { IssueParams } from "./fields.ts";
import { nearest } from "./nearest.ts";
import { LIST, MISSING, RANGE, TEXT, UNKNOWN_KEY, WORD, WRONG_KIND } from "./rules.ts";

type Issue = z.core.$ZodIssue;
type Path = readonly PropertyKey[];

/** More findings than a person reads at once; what is left out is counted in a last one. */
const MOST = 100;

/** "carve.stations[1].thickness"; the document itself is "the file". */
export function pathText(path: Path): string {
  let out = "";
  for (const p of path) out += typeof p === "number" ? `[${p}]` : out === "" ? String(p).slice(0, 60) : `.${String(p).slice(0, 60)}`;
  return out === "" ? "the file" : out;
}

/** Issues of one parse as findings of this stage's rules, in the order of the file. */
export function issuesToFindings(issues: readonly Issue[], schema: z.ZodType): Finding[] {
  const out: Finding[] = [];
  let told = 0;
  let all = 0;
  for (const issue of issues) {
    all += countOf(issue);
    if (told < MOST) collect(issue, [], schema, out);
    told = out.length;
  }
  if (all <= MOST && out.length <= MOST) return out;
  const kept = out.slice(0, MOST);
  const rest = Math.max(all, out.length) - kept.length;
  return [
    ...kept,
    finding(WRONG_KIND, {
      where: "the file",
      value: kept.length + rest,
      limit: MOST,
      unit: "",
      says: `There are ${rest} more findings of this kind.`,
      tryThis: "Mend the first ones and check again.",
    }),
  ];
}

const countOf = (issue: Issue): number => (issue.code === "unrecognized_keys" ? issue.keys.length : 1);

function collect(issue: Issue, prefix: Path, schema: z.ZodType, out: Finding[]): void {
  const path = [...prefix, ...issue.path];
  const where = pathText(path);
  switch (issue.code) {
    case "custom": {
      const p = issue.params as unknown as IssueParams;
      out.push(finding(p.rule, { where, value: show(issue.input), limit: p.limit, unit: p.unit, says: p.says, tryThis: p.tryThis }));
      return;
    }
    case "unrecognized_keys": {
      const known = keysAt(schema, path);
      for (const key of issue.keys.slice(0, MOST)) {
        const near = nearest(key, known);
        out.push(
          finding(UNKNOWN_KEY, {
            where: pathText([...path, key]),
            value: key.slice(0, 60),
            limit: near,
            unit: "",
            says: `The key ${JSON.stringify(key.slice(0, 60))} is not known here${near === null ? "" : `; the nearest is ${JSON.stringify(near)}`}.`,
            tryThis: `Use one of: ${known.join(", ")}.`,
          }),
        );
      }
      return;
    }
    case "invalid_type": {
      if (issue.input === undefined) {
        out.push(
          finding(MISSING, {
            where,
            value: null,
            limit: null,
            unit: "",
            says: `A value is missing (${issue.expected}).`,
            tryThis: `Add the key ${JSON.stringify(where)}.`,
          }),
        );
        return;
      }
      const expected = PLAIN[issue.expected] ?? issue.expected;
      out.push(
        finding(WRONG_KIND, {
          where,
          value: show(issue.input),
          limit: null,
          unit: "",
          says: `${kindOf(issue.input)} stands where ${expected} is expected.`,
          tryThis: `Write ${expected}.`,
        }),
      );
      return;
    }
    case "invalid_value": {
      const words = issue.values.map(String);
      if (issue.input === undefined) {
        out.push(
          finding(MISSING, {
            where,
            value: null,
            limit: null,
            unit: "",
            says: `A value is missing: ${words.map((w) => JSON.stringify(w)).join(", ")}.`,
            tryThis: `Add the key ${JSON.stringify(where)}.`,
          }),
        );
        return;
      }
      const near = typeof issue.input === "string" ? nearest(issue.input, words) : null;
      out.push(
        finding(WORD, {
          where,
          value: show(issue.input),
          limit: words.join(", "),
          unit: "",
          says: `${kindOf(issue.input)} is not one of the words for this key${near === null ? "" : `; the nearest is ${JSON.stringify(near)}`}.`,
          tryThis: `Write one of: ${words.map((w) => JSON.stringify(w)).join(", ")}.`,
        }),
      );
      return;
    }
    case "too_big":
    case "too_small": {
      const limit = Number(issue.code === "too_big" ? issue.maximum : issue.minimum);
      const list = issue.origin === "array" || issue.origin === "set";
      const rule = list ? LIST : issue.origin === "string" ? TEXT : RANGE;
      const n = Array.isArray(issue.input) || typeof issue.input === "string" ? issue.input.length : Number(issue.input);
      const noun = list ? "entries" : issue.origin === "string" ? "characters" : "";
      out.push(
        finding(rule, {
          where,
          value: n,
          limit,
          unit: noun,
          says: `${n} ${noun} ${issue.code === "too_big" ? "are more than the most" : "are fewer than the least"} that are accepted, ${limit}.`,
          tryThis: issue.code === "too_big" ? "Give fewer." : "Give more.",
        }),
      );
      return;
    }
    case "invalid_format":
      out.push(
        finding(TEXT, {
          where,
          value: show(issue.input),
          limit: issue.pattern ?? null,
          unit: "",
          says: `${kindOf(issue.input)} holds letters that this key does not take.`,
          tryThis: "Use small letters, digits and single dashes, like loan-guitar.",
        }),
      );
      return;
    case "invalid_union": {
      const branch = bestBranch(issue.errors);
      if (branch !== null) {
        for (const inner of branch) collect(inner, path, schema, out);
        return;
      }
      out.push(
        finding(WRONG_KIND, {
          where,
          value: show(issue.input),
          limit: null,
          unit: "",
          says: issue.input === undefined ? "A value is missing." : `${kindOf(issue.input)} is not one of the ways to write this.`,
          tryThis: waysOf(issue.errors),
        }),
      );
      return;
    }
    default:
      out.push(
        finding(WRONG_KIND, {
          where,
          value: show((issue as { input?: unknown }).input),
          limit: null,
          unit: "",
          says: issue.message,
          tryThis: "See docs/order.md.",
        }),
      );
  }
}

const PLAIN: Readonly<Record<string, string>> = {
  object: "an object in braces",
  array: "a list in brackets",
  string: "a text in double quotes",
  number: "a number",
  boolean: "true or false",
};

/** The member of a union that the writer meant: the one whose own kind fits and whose inside is wrong. */
function bestBranch(branches: readonly (readonly Issue[])[]): readonly Issue[] | null {
  for (const issues of branches) {
    if (issues.length > 0 && issues.every((i) => i.path.length > 0 || i.code === "unrecognized_keys")) return issues;
  }
  for (const issues of branches) {
    if (issues.some((i) => i.code === "custom" && i.path.length === 0 && (i.params as unknown as IssueParams).otherKind !== true))
      return issues;
  }
  return null;
}

function waysOf(branches: readonly (readonly Issue[])[]): string {
  const ways = new Set<string>();
  for (const first of branches.map((b) => b[0])) {
    if (first?.code === "invalid_value") for (const v of first.values) ways.add(JSON.stringify(v));
    else if (first?.code === "invalid_type") ways.add(PLAIN[first.expected] ?? first.expected);
    else if (first?.code === "custom") ways.add("a number or a text with a unit");
  }
  return `Write ${[...ways].join(", or ")}.`;
}

function show(input: unknown): number | string | null {
  if (typeof input === "number") return Number.isFinite(input) ? input : String(input);
  if (typeof input === "string") return input.slice(0, 60);
  if (input === null || input === undefined) return null;
  return Array.isArray(input) ? "a list" : typeof input === "object" ? "an object" : String(input);
}

function kindOf(input: unknown): string {
  if (typeof input === "string") return JSON.stringify(input.slice(0, 60));
  if (typeof input === "number" || typeof input === "boolean") return String(input);
  if (input === null) return "null";
  return Array.isArray(input) ? "A list" : "An object";
}

interface Def {
  readonly type: string;
  readonly shape?: Record<string, unknown>;
  readonly innerType?: unknown;
  readonly in?: unknown;
  readonly options?: readonly unknown[];
  readonly element?: unknown;
}

const defOf = (schema: unknown): Def => (schema as { _zod: { def: Def } })._zod.def;

/** The keys an object may have at a path of the schema, over all members of unions on the way. */
export function keysAt(schema: unknown, path: Path): string[] {
  const def = defOf(schema);
  if (def.innerType !== undefined) return keysAt(def.innerType, path);
  if (def.type === "pipe") return keysAt(def.in, path);
  if (def.type === "union") return [...new Set((def.options ?? []).flatMap((o) => keysAt(o, path)))];
  if (def.type === "array") return path.length === 0 ? [] : keysAt(def.element, path.slice(1));
  if (def.type !== "object" || def.shape === undefined) return [];
  if (path.length === 0) return Object.keys(def.shape);
  const next = Object.hasOwn(def.shape, path[0] as string) ? def.shape[path[0] as string] : undefined;
  return next === undefined ? [] : keysAt(next, path.slice(1));
}
