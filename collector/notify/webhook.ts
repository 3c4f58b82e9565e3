import { createHmac, randomUUID } from 'node:crypto';
import { lookup } from 'node:dns';
import { request as httpRequest, type RequestOptions } from 'node:http';
import { request as httpsRequest } from 'node:https';
import { BlockList, isIP } from 'node:net';
import { TellError } from './tell-error.ts';

/** For the whole exchange: a server that says a byte now and then is never silent [ms]. */
const answerWithinMs = 10_000;
/** A receiver says yes or no; more than this is not read [bytes]. */
const mostAnswerBytes = 16 * 1024;
const leastSecretLength = 32;

/** Where nothing outside the plant answers: what a name may resolve to only if the plant says so. */
const inside = new BlockList();
for (const [net, bits] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
] as const) {
  inside.addSubnet(net, bits, 'ipv4');
}
for (const [net, bits] of [
  ['::', 128],
  ['::1', 128],
  // Translated and tunnelled IPv4: whatever it leads to.
  ['64:ff9b::', 96],
  ['2002::', 16],
  ['fc00::', 7],
  ['fe80::', 10],
  ['ff00::', 8],
] as const) {
  inside.addSubnet(net, bits, 'ipv6');
}

/** Whether an address may be asked: a public one, or one that plant.yaml names. */
export function mayAsk(address: string, allow: readonly string[]): boolean {
  if (allow.includes(address)) return true;
  const family = isIP(address);
  if (family === 0) return false;
  const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)?.[1];
  if (mapped !== undefined) return mayAsk(mapped, allow);
  return !inside.check(address, family === 6 ? 'ipv6' : 'ipv4');
}

/** `t=<seconds>,v1=<HMAC-SHA-256 of "<seconds>.<body>", hex>`: the time is signed, so that nothing is replayed. */
export function signatureOf(body: string, secret: string, atS: number): string {
  const hmac = createHmac('sha256', secret)
    .update(`${String(atS)}.${body}`)
    .digest('hex');
  return `t=${String(atS)},v1=${hmac}`;
}

export interface WebhookTarget {
  url: string;
  secret: string;
  /** Addresses inside the plant that may be asked. */
  allow: readonly string[];
}

/**
 * Posts JSON, signed, to the address that its name resolves to now, and follows no redirect.
 *
 * @param wallMs the wall clock, for the receiver's own check of the signature's age
 * @throws TellError
 */
export function postWebhook(
  target: WebhookTarget,
  value: object,
  wallMs: number,
  withinMs = answerWithinMs,
): Promise<void> {
  const { url, secret, allow } = target;
  if (secret.length < leastSecretLength) {
    const found = `${String(secret.length)} characters`;
    return Promise.reject(
      new TellError(`secretFile holds ${found}; at least ${String(leastSecretLength)}`, false),
    );
  }
  const { protocol, hostname } = new URL(url);
  const bare = hostname.replace(/^\[|\]$/g, '');
  if (isIP(bare) !== 0 && !mayAsk(bare, allow)) {
    return Promise.reject(new TellError(`${bare} is no address that may be asked`, false));
  }
  const body = JSON.stringify(value);
  const options: RequestOptions = {
    method: 'POST',
    signal: AbortSignal.timeout(withinMs),
    headers: {
      'content-type': 'application/json',
      'content-length': Buffer.byteLength(body),
      'setwell-delivery': randomUUID(),
      'setwell-signature': signatureOf(body, secret, Math.floor(wallMs / 1000)),
    },
    // The address that is checked is the one that is asked: no second look at the name.
    lookup: (name, asked, done) => {
      lookup(name, { ...asked, all: true }, (error, addresses) => {
        if (error) return done(error, '', 4);
        const found = addresses.find(({ address }) => mayAsk(address, allow));
        if (!found) return done(new Error(`${name} is at no address that may be asked`), '', 4);
        if (asked.all) return done(null, [found]);
        return done(null, found.address, found.family);
      });
    },
  };
  return send(protocol === 'https:' ? httpsRequest : httpRequest, url, options, body);
}

function send(
  request: typeof httpRequest,
  url: string,
  options: RequestOptions,
  body: string,
): Promise<void> {
  return new Promise((resolve, reject) => {
    const refuse = (error: Error): void => {
      const text = options.signal?.aborted === true ? 'no answer in time' : error.message;
      reject(new TellError(text, true));
    };
    const call = request(url, options, (answer) => {
      // Whoever has said yes or no has answered, whatever becomes of the rest.
      call.off('error', refuse).on('error', () => undefined);
      const status = answer.statusCode ?? 0;
      let bytes = 0;
      answer.on('data', (chunk: Buffer) => {
        bytes += chunk.length;
        if (bytes > mostAnswerBytes) answer.destroy();
      });
      answer.on('error', () => undefined);
      answer.on('close', () => {
        if (status >= 200 && status < 300) resolve();
        else reject(new TellError(`answered ${String(status)}`, status === 429 || status >= 500));
      });
    });
    call.on('error', refuse);
    call.end(body);
  });
}
