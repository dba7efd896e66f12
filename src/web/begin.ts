import { early } from "./early.ts";

// who shows it says what went wrong
early().catch(() => undefined);
