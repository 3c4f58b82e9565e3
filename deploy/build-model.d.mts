export function buildModel(
  root?: string,
  instead?: { file: string; text: string } | null,
): Promise<{ bytes: Buffer; sha256: string; modules: string[] }>;
