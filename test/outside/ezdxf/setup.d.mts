export declare function ensureEzdxf(say?: (line: string) => void): NodeJS.ProcessEnv;
export declare function haveEzdxf(): boolean;
