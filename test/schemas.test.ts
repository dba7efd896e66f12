import { describe, expect, test } from "vitest";
import { orderDoc } from "../src/spec/doc.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";
import type { Node } from "../src/spec/json-schema.ts";
import { orderSchema, shopSchema } from "../src/spec/json-schema.ts";
import { read } from "./sources.ts";

const ORDERS = ["loan-guitar", "loan-bass", "loan-ukulele", "loan-guitar-left"] as const;
const SHOPS = ["light-router", "stiff-router"] as const;

describe("what is generated from the schemas", () => {
  test("schemas/ and docs/order.md are what `npm run schemas` writes", () => {
    expect(read("schemas/order.schema.json")).toBe(`${JSON.stringify(orderSchema(), null, 2)}\n`);
    expect(read("schemas/shop.schema.json")).toBe(`${JSON.stringify(shopSchema(), null, 2)}\n`);
    expect(read("docs/order.md")).toBe(orderDoc());
  });

  test("every key has a title, a description, and closed objects; numbers have a range", () => {
    const walk = (node: Node, path: string, named: boolean): void => {
      if (named) expect(node.title && node.description, path).toBeTruthy();
      if (node.properties !== undefined) expect(node.additionalProperties, path).toBe(false);
      if (node.type === "number" || node.type === "integer") expect([node.minimum, node.maximum].every(Number.isFinite), path).toBe(true);
      for (const [key, child] of Object.entries(node.properties ?? {})) walk(child, `${path}.${key}`, true);
      if (node.items !== undefined) walk(node.items, `${path}[]`, false);
      for (const member of node.anyOf ?? []) walk(member, path, false);
    };
    walk(orderSchema(), "order", true);
    walk(shopSchema(), "shop", true);
  });

  test("every key that may be left out states its default", () => {
    const silent: string[] = [];
    const walk = (node: Node, path: string): void => {
      for (const [key, child] of Object.entries(node.properties ?? {})) {
        const inner =
          child.properties !== undefined ||
          child.items?.properties !== undefined ||
          (child.anyOf ?? []).some((m) => m.properties !== undefined);
        const stated = child.default !== undefined || child.defaults !== undefined;
        if (!stated && !inner && !(node.required ?? []).includes(key)) silent.push(`${path}.${key}`);
        for (const object of [child, ...(child.anyOf ?? []), ...(child.items === undefined ? [] : [child.items])])
          walk(object, `${path}.${key}`);
      }
    };
    walk(orderSchema(), "order");
    walk(shopSchema(), "shop");
    const texts = ["order.$schema", "shop.$schema", "shop.note", "shop.machine.note", "shop.cutters.note"];
    expect(silent.sort()).toEqual(texts.sort());
  });
});

describe("the examples", () => {
  test.each(ORDERS)("%s is an order without any finding, and names its schema", (name) => {
    const text = read(`examples/${name}.order.json`);
    const p = parseOrder(text);
    expect(p.findings).toEqual([]);
    expect(p.value?.name).toBe(name);
    expect(JSON.parse(text).$schema).toBe("../schemas/order.schema.json");
  });

  test.each(SHOPS)("%s is a shop without any finding, and names its schema", (name) => {
    const text = read(`examples/${name}.shop.json`);
    const p = parseShop(text);
    expect(p.findings).toEqual([]);
    expect(p.value?.name).toBe(name);
    expect(JSON.parse(text).$schema).toBe("../schemas/shop.schema.json");
  });

  test("a number is the same cutter in both shops; what only the stiff router bears is extra long or a drill", () => {
    const [light, stiff] = ["light-router", "stiff-router"].map(
      (name) => parseShop(read(`examples/${name}.shop.json`)).value?.cutters.map((c) => [c.number, c.shape, c.diameter, c.reach]) ?? [],
    );
    const plain = (cutters: typeof light) => cutters.map(([number, shape, diameter]) => [number, shape, diameter]);
    expect(plain(stiff.slice(0, light.length))).toEqual(plain(light));
    for (const [, shape, diameter, reach] of stiff.slice(light.length))
      expect(shape === "drill" || Number(reach) >= 10 * Number(diameter)).toBe(true);
  });

  test("every slot width of the examples has a flat cutter of its width in both shops", () => {
    for (const shop of SHOPS) {
      const cutters = parseShop(read(`examples/${shop}.shop.json`)).value?.cutters ?? [];
      for (const order of ORDERS) {
        const frets = parseOrder(read(`examples/${order}.order.json`)).value?.frets;
        const cutter = cutters.find((c) => c.shape === "flat" && c.diameter === frets?.kerf);
        expect(cutter, `${order} with ${shop}`).toBeDefined();
        expect(cutter?.fluteLength).toBeGreaterThan((frets?.depth ?? 0) + 0.3);
      }
    }
  });
});
