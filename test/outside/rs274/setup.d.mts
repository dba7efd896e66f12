export declare function ensureRs274(say?: (line: string) => void): { readonly program: string; readonly env: Record<string, string> };
export declare function haveRs274(): boolean;
