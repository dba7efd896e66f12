import { type ReactElement, type Ref, useImperativeHandle, useLayoutEffect, useRef } from "react";
import type { SvgGroup, SvgParts } from "../sheet/draw/svg.ts";

/** Puts another picture in the place of the one that is shown; groups that are left out stay as they are. */
export interface DrawnHand {
  readonly put: (open: string, groups: readonly (SvgGroup | null)[]) => void;
}

interface Props {
  readonly picture: SvgParts;
  readonly className?: string;
  readonly title?: string;
  /** Another hand puts pictures in: this one comes back when it has ended. */
  readonly lent?: boolean;
  readonly ref?: Ref<DrawnHand>;
}

/** A drawing of our own writer, which escapes every text it writes. When it changes, only what differs in it is put in anew. */
export function Drawn(p: Props): ReactElement {
  const box = useRef<HTMLDivElement>(null);
  const shown = useRef<SvgParts | null>(null);
  const { picture, lent = false } = p;
  useLayoutEffect(() => {
    if (lent) return;
    if (box.current !== null) show(box.current, shown.current, picture);
    shown.current = picture;
  }, [picture, lent]);
  useImperativeHandle(
    p.ref,
    () => ({
      put: (open, groups) => {
        const before = shown.current;
        if (box.current === null || before === null) return;
        const now = { open, groups: groups.map((g, k) => g ?? before.groups[k]) };
        show(box.current, before, now);
        shown.current = now;
      },
    }),
    [],
  );
  return <div ref={box} className={p.className ?? "drawn"} title={p.title} />;
}

const textOf = (g: SvgGroup): string => (g.open === "" ? g.within.join("") : `${g.open}${g.within.join("")}</g>`);

function show(box: HTMLElement, before: SvgParts | null, now: SvgParts): void {
  const drawing = box.firstElementChild;
  if (before === null || drawing === null || before.open !== now.open) {
    box.innerHTML = `${now.open}${now.groups.map(textOf).join("")}</svg>`;
    return;
  }
  each(drawing, before.groups, now.groups, textOf, (element, was, is) => {
    if (was.open !== is.open) return false;
    if (is.open === "") return patched(element, was.within[0], is.within[0]);
    each(element, was.within, is.within, (text) => text, patched);
    return true;
  });
}

/** Makes of the children of `parent`, which are `was`, those that are `is`: one after the other changed, or put in anew where `change` cannot. */
function each<T>(
  parent: Element,
  was: readonly T[],
  is: readonly T[],
  text: (one: T) => string,
  change: (element: Element, was: T, is: T) => boolean,
): void {
  let element = parent.firstElementChild;
  for (let k = 0; k < is.length; k++) {
    if (element === null) {
      parent.insertAdjacentHTML("beforeend", is.slice(k).map(text).join(""));
      return;
    }
    const next: Element | null = element.nextElementSibling;
    if (was[k] !== is[k] && !change(element, was[k], is[k])) element.outerHTML = text(is[k]);
    element = next;
  }
  while (element !== null) {
    const next: Element | null = element.nextElementSibling;
    element.remove();
    element = next;
  }
}

/** Changes the attributes that differ, and the words; false where the two are not elements of one kind with the same attributes. */
function patched(element: Element, was: string, is: string): boolean {
  // <line x1="0" y1="1"/>: names and values by turns, what comes after the last value last; our writer puts no quotation mark anywhere else
  const [before, now] = [was.split('"'), is.split('"')];
  const last = now.length - 1;
  if (before.length !== now.length) return false;
  for (let k = 0; k < last; k += 2) if (before[k] !== now[k]) return false;
  if (before[last] !== now[last]) {
    // words with nothing in them that would have to be read as a sign
    const words = /^>([^<&]*)<\/\w+>$/.exec(now[last]);
    if (words === null) return false;
    element.textContent = words[1];
  }
  for (let k = 1; k < last; k += 2)
    if (before[k] !== now[k]) element.setAttribute(now[k - 1].slice(now[k - 1].lastIndexOf(" ") + 1, -1), now[k]);
  return true;
}
