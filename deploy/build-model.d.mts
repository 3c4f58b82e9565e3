export function buildModel(
  root?: string,
): Promise<{ bytes: Buffer; sha256: string; modules: string[] }>;
