import { expect, test } from "vitest";
import { isKept, isShutOut, keeps } from "./keeps.ts";

test("pages and what they show are kept; keys, devices, archives and streams are not", () => {
  for (const path of [
    "/",
    "/bench/main.js",
    "/jobs/loan-one/job.json",
    "/api/shelf",
    "/api/orders/loan-one",
    "/api/runs/loan-one-r1",
    "/api/photos/00",
  ])
    expect(keeps(path), path).toBe(true);
  for (const path of [
    "/pair",
    "/devices",
    "/api/archive",
    "/api/lan",
    "/api/lan/code",
    "/api/changes",
    "/api/tables/cutter",
    "/api/jobs/1/events",
    "/api/runsome",
  ])
    expect(keeps(path), path).toBe(false);
});

test("only a whole answer of the page itself is kept", () => {
  expect(isKept({ ok: true, redirected: false, status: 200 })).toBe(true);
  for (const part of [{ ok: false }, { redirected: true }, { status: 206 }])
    expect(isKept({ ok: true, redirected: false, status: 200, ...part })).toBe(false);
});

test("a device that is withdrawn is known by what the server answers", () => {
  expect(isShutOut({ status: 401, redirected: false, url: "http://bench.local/api/shelf" })).toBe(true);
  expect(isShutOut({ status: 200, redirected: true, url: "http://bench.local/pair" })).toBe(true);
  expect(isShutOut({ status: 404, redirected: false, url: "http://bench.local/api/orders/x" })).toBe(false);
  expect(isShutOut({ status: 200, redirected: true, url: "http://bench.local/" })).toBe(false);
});
