/** Packs bytes into a zlib stream (RFC 1950). The caller brings it: the system's own is many times faster than one in script. */
export type Deflate = (bytes: Uint8Array) => Uint8Array;
