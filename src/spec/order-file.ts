import type {
  BarsSpec,
  BlankSpec,
  BoardSpec,
  CarveSpec,
  CarveStation,
  ClimateSpec,
  CuttingSpec,
  FanSpec,
  FretsSpec,
  HeadstockSpec,
  HeelSpec,
  HoldingSpec,
  MarkersSpec,
  NutSpec,
  OrderSpec,
  Place,
  RodSpec,
  SetupSpec,
  StringsSpec,
  TunersSpec,
} from "./types.ts";

/* The order file, order/1, as it comes out of its schema: units turned, what was left out still missing. */

export type Some<T> = { readonly [K in keyof T]?: T[K] | undefined };
type Channel = Extract<RodSpec, { kind: "channel" }>;

export type GivenTuners = Some<Omit<TunersSpec, "bush">> & { readonly bush?: "none" | number | undefined };

/** A rod channel as written: ends as places, everything else optional. */
export type GivenRod =
  | "none"
  | (Some<Omit<Channel, "kind" | "from" | "from_x" | "to_x" | "access">> & {
      readonly cutFrom?: "back" | "face" | undefined;
      readonly from?: Place | undefined;
      readonly to?: Place | undefined;
      readonly access?: "none" | NonNullable<Channel["access"]> | undefined;
    });

/** Bars as written: ends as places. */
export type GivenBars = Some<Omit<BarsSpec, "from_x" | "to_x">> & { readonly from?: Place | undefined; readonly to?: Place | undefined };

export interface OrderFile {
  readonly $schema?: string | undefined;
  readonly neckwright: "order/1";
  readonly name: string;
  readonly title?: string | undefined;
  readonly instrument: OrderSpec["instrument"];
  readonly hand?: OrderSpec["hand"] | undefined;
  readonly scale?: number | FanSpec | undefined;
  readonly strings?: Some<StringsSpec> | undefined;
  readonly frets?: Some<FretsSpec> | undefined;
  readonly nut?: Some<NutSpec> | undefined;
  readonly board?: Some<BoardSpec> | undefined;
  readonly headstock?: (Some<Omit<HeadstockSpec, "tuners" | "drawing">> & { readonly tuners?: GivenTuners | undefined }) | undefined;
  readonly carve?:
    | { readonly stations?: readonly CarveStation[] | undefined; readonly volute?: CarveSpec["volute"] | undefined }
    | undefined;
  readonly bars?: "none" | GivenBars | undefined;
  readonly heel?: (Some<Omit<HeelSpec, "screws">> & { readonly screws?: "none" | Some<HeelSpec["screws"]> | undefined }) | undefined;
  readonly rod?: GivenRod | undefined;
  readonly markers?:
    | { readonly face?: "none" | Some<MarkersSpec["face"]> | undefined; readonly side?: "none" | Some<MarkersSpec["side"]> | undefined }
    | undefined;
  readonly wood?: Some<OrderSpec["wood"]> | undefined;
  readonly setup?: SetupSpec | undefined;
  readonly climate?: ClimateSpec | undefined;
  readonly blank?:
    | (Some<Omit<BlankSpec, "tipFromEnd" | "centreFromDatum">> & {
        readonly tipFromEnd?: "centred" | number | undefined;
        readonly centreFromDatum?: "centred" | number | undefined;
      })
    | undefined;
  readonly holding?:
    | Some<{
        way: HoldingSpec["way"];
        turn: "x" | "y";
        pin: Some<HoldingSpec["pin"]>;
        block: Some<HoldingSpec["block"]>;
        screw: Some<HoldingSpec["screw"]>;
        supports: boolean;
        press: {
          readonly kind: "vacuum" | "tape";
          readonly pressure: number;
          readonly friction?: number | undefined;
          readonly side?: "board" | "carve" | undefined;
        };
        placed: readonly {
          readonly name: string;
          readonly side?: "board" | "carve" | undefined;
          readonly x?: number | undefined;
          readonly y?: number | undefined;
        }[];
      }>
    | undefined;
  readonly cutting?:
    | (Some<Omit<CuttingSpec, "release" | "work">> & {
        readonly work?: Some<NonNullable<CuttingSpec["work"]>> | undefined;
        readonly release?: Some<{ kind: "tabs" | "skin"; thickness: number; width: number }> | undefined;
      })
    | undefined;
  readonly overrides?: OrderSpec["overrides"] | undefined;
  readonly corrections?: OrderSpec["corrections"] | undefined;
}
