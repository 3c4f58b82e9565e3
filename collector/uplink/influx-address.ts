import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';

/** What stands in a file; asked at each request, so that a secret can be changed. */
export type ReadSecret = (file: string) => string;

/** An address on the server that the plant's file names. */
export function addressOn({ url }: InfluxAddress, path: string, query: Record<string, string>) {
  return `${url.replace(/(?<!\/)\/+$/, '')}${path}?${new URLSearchParams(query)}`;
}

/** Who asks, as a request's header. @throws Error where a token is none, without repeating it */
export function authorizationOf(
  influx: InfluxAddress,
  readSecret: ReadSecret,
): Record<string, string> {
  if (influx.version === 1) {
    if (influx.username === undefined || influx.passwordFile === undefined) return {};
    const pair = `${influx.username}:${readSecret(influx.passwordFile)}`;
    return { authorization: `Basic ${Buffer.from(pair).toString('base64')}` };
  }
  if (influx.tokenFile === undefined) return {};
  const token = readSecret(influx.tokenFile);
  // Otherwise the refusal of the header would repeat the token.
  if (!/^[\x21-\x7e]{1,1000}$/.test(token)) {
    throw new Error(`${influx.tokenFile}: expected one token in visible ASCII characters`);
  }
  return { authorization: `${influx.version === 2 ? 'Token' : 'Bearer'} ${token}` };
}

/** As much of an answer as its reader can use; the rest is not waited for. */
export async function beginningOf({ body }: Response, mostCharacters: number): Promise<string> {
  if (body === null) return '';
  let text = '';
  const decoder = new TextDecoder();
  for await (const chunk of body) {
    text += decoder.decode(chunk as Uint8Array, { stream: true });
    if (text.length > mostCharacters) break;
  }
  return text;
}

/** What a refusal says, at most so long. */
export function refusalOf({ status, statusText }: Response, body: string, most: number): string {
  return `${status} ${body.trim() || statusText}`.slice(0, most);
}

/** `fetch` says only that it failed; its cause says why. */
export function wordsOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const { cause } = error;
  if (!(cause instanceof Error)) return error.message;
  return cause.message || String((cause as NodeJS.ErrnoException).code ?? error.message);
}
