/** How long a log is, and the root of its tree: what a signature fixes. */
export interface Checkpoint {
  /** `setwell/<site>/<collector>/<life>` */
  origin: string;
  size: number;
  /** Of the tree of the first `size` entries, base64. */
  root: string;
}

/** The origin, and the name of the key, of a log `site/collector/life`. */
export function originOf(log: string): string {
  return `setwell/${log}`;
}

/** The log that an origin names; null for somebody else's. */
export function logOfOrigin(origin: string): string | null {
  return /^setwell\/(?<log>[^/\s+]+\/[^/\s+]+\/[1-9][0-9]*)$/.exec(origin)?.groups?.['log'] ?? null;
}

/**
 * The text that is signed: origin, size, root, one a line, each line ended.
 *
 * @source C2SP tlog-checkpoint
 */
export function checkpointText({ origin, size, root }: Checkpoint): string {
  return `${origin}\n${String(size)}\n${root}\n`;
}

const sha256Base64 = /^[A-Za-z0-9+/]{42}[AEIMQUYcgkosw048]=$/;

/** @returns null for a text that is no checkpoint; lines after the root are allowed and not read */
export function parseCheckpointText(text: string): Checkpoint | null {
  const [origin, size, root, ...rest] = text.split('\n');
  if (!origin || size === undefined || root === undefined || rest.at(-1) !== '') return null;
  if (!/^(0|[1-9][0-9]{0,14})$/.test(size) || !sha256Base64.test(root)) return null;
  return { origin, size: Number(size), root };
}

/**
 * A checkpoint as somebody copies it from a sheet: origin, size and root, one a line, each after the word
 * that is printed before it or alone. Who holds the sheet needs no signature under it.
 *
 * @returns null for any other text
 */
export function parsePrintedCheckpoint(text: string): Checkpoint | null {
  const lines = text.split('\n').map((line) => line.trim());
  const said = lines
    .filter((line) => line !== '')
    .slice(0, 3)
    .map((line) => /^(?:(?:checkpoint|log|entries|root) +)?(\S+)$/.exec(line)?.[1] ?? '');
  const checkpoint = parseCheckpointText(`${said.join('\n')}\n`);
  return checkpoint && logOfOrigin(checkpoint.origin) !== null ? checkpoint : null;
}
