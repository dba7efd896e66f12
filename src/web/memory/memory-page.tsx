import type { ReactElement } from "react";
import type { Json, Path } from "../document.ts";
import { useSay } from "../settings.tsx";
import { Devices } from "./devices.tsx";
import { Files } from "./files.tsx";
import { Machines } from "./machines.tsx";
import { Plates, Rack } from "./shelf.tsx";

export interface Props {
  readonly order: string;
  readonly shop: string | null;
  readonly file: Json;
  /** As it comes out, what is left to defaults too. */
  readonly blank: { readonly length: number; readonly width: number; readonly shaftThickness: number } | null;
  readonly set: (path: Path, value: Json | undefined) => void;
  /** Papers came in: the list of orders and shops is to be read again. */
  readonly reload: () => void;
}

/** What the shop keeps beside its orders: devices, tables, and everything as one file. */
export function MemoryPage(p: Props): ReactElement {
  const say = useSay();
  return (
    <>
      <Devices say={say} />
      <Rack {...p} />
      <Plates {...p} />
      <Machines />
      <Files {...p} />
    </>
  );
}
