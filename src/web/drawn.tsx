import { type ReactElement, useLayoutEffect, useRef } from "react";
import type { SvgParts } from "../sheet/draw/svg.ts";

const SVG = "http://www.w3.org/2000/svg";

/** A drawing of our own writer, which escapes every text it writes. When it changes, only those of its parts that differ are put in anew. */
export function Drawn(p: { readonly picture: SvgParts; readonly className?: string; readonly title?: string }): ReactElement {
  const box = useRef<HTMLDivElement>(null);
  const shown = useRef<SvgParts | null>(null);
  const { picture } = p;
  useLayoutEffect(() => {
    if (box.current !== null) show(box.current, shown.current, picture);
    shown.current = picture;
  }, [picture]);
  return <div ref={box} className={p.className ?? "drawn"} title={p.title} />;
}

function show(box: HTMLElement, before: SvgParts | null, now: SvgParts): void {
  const drawing = box.firstElementChild;
  if (before === null || drawing === null || before.open !== now.open || drawing.children.length !== before.parts.length) {
    box.innerHTML = `${now.open}${now.parts.join("")}</svg>`;
    return;
  }
  const [was, is] = [before.parts, now.parts];
  const shorter = Math.min(was.length, is.length);
  let same = 0;
  while (same < shorter && was[same] === is[same]) same++;
  let after = 0;
  while (after < shorter - same && was[was.length - 1 - after] === is[is.length - 1 - after]) after++;
  if (same === was.length && same === is.length) return;
  const old = [...drawing.children].slice(same, was.length - after);
  // as many as before: each in the place of its own, and what is the same stays
  const changed = is.slice(same, is.length - after).filter((part, k) => old.length !== is.length - after - same || part !== was[same + k]);
  const made = document.createElementNS(SVG, "svg");
  made.innerHTML = changed.join("");
  if (old.length === is.length - after - same) {
    let next = made.firstElementChild;
    old.forEach((element, k) => {
      if (was[same + k] === is[same + k] || next === null) return;
      const put = next;
      next = next.nextElementSibling;
      element.replaceWith(put);
    });
    return;
  }
  const foot = drawing.children[was.length - after] ?? null;
  for (const element of old) element.remove();
  for (const element of [...made.children]) drawing.insertBefore(element, foot);
}
