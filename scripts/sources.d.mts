/** Hash of the sources under `root`/src that compute something, and of the lock file. */
export function sourcesHash(root: string): string;
/** The hash as a constant for esbuild and vitest. */
export function sourcesDefine(root: string): Record<string, string>;
