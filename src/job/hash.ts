import { createHash } from "node:crypto";

/** SHA-256 of bytes or of text in UTF-8, in lower-case hex (FIPS 180-4). */
export const sha256 = (data: Uint8Array | string): string => createHash("sha256").update(data).digest("hex");
