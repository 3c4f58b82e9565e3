import { signal } from '@preact/signals';
import { isMessage, say, sayAny } from './language.ts';
import { loadMe } from './people/me.ts';
import { prove } from './people/proof.ts';
import { randomId } from './random-id.ts';

/** Signing in, then the signature: an act asks for no more than these. */
const asksAtMost = 3;

/** Why an act was not recorded or an answer did not come, in the reader's language. */
export class Refused extends Error {
  readonly status: number | null;
  constructor(message: string, status: number | null) {
    super(message);
    this.status = status;
  }
}

/** Why a page has nothing to show: nobody knows it, or nobody could be asked. */
export const unansweredText = (error: Error, notKnown: string): string =>
  error instanceof Refused && error.status === 404 ? notKnown : error.message;

async function problemText(response: Response): Promise<string> {
  try {
    const { title, field, found, expected, cause } = (await response.json()) as {
      title?: string;
      field?: string;
      found?: string;
      expected?: string;
      cause?: string;
    };
    if (cause !== undefined && isMessage(`act.why.${cause}`))
      return sayAny(`act.why.${cause}`, cause);
    if (expected !== undefined) return `${field ?? ''} ${found ?? ''}: ${expected}`.trim();
    return title ?? String(response.status);
  } catch {
    return String(response.status);
  }
}

async function exchanged(address: string, init?: RequestInit): Promise<Response> {
  try {
    return await fetch(`/api/v1${address}`, init);
  } catch {
    const isAct = init?.method !== undefined && init.method !== 'GET';
    throw new Refused(say(isAct ? 'act.noServer' : 'ask.noServer'), null);
  }
}

/**
 * @param signal lets go of the answer
 * @throws Refused
 */
export async function ask<T>(address: string, signal?: AbortSignal): Promise<T> {
  const response = await exchanged(address, signal && { signal });
  if (!response.ok) throw new Refused(await problemText(response), response.status);
  return (await response.json()) as T;
}

/**
 * The same for what may take long: the server tells in lines which share of it is done.
 *
 * @param told hears that share
 * @throws Refused
 */
export async function askTold<T>(
  address: string,
  signal: AbortSignal,
  told: (share: number) => void,
): Promise<T> {
  const response = await exchanged(address, { signal });
  if (!response.ok) throw new Refused(await problemText(response), response.status);
  const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader();
  let text = '';
  for (;;) {
    const { done, value = '' } = (await reader?.read()) ?? { done: true };
    text += value;
    const lines = text.split('\n');
    text = lines.pop() ?? '';
    for (const line of lines) {
      const said = JSON.parse(line) as { share: number } | { trace: T };
      if ('trace' in said) return said.trace;
      told(said.share);
    }
    if (done) throw new Refused(say('act.noServer'), null);
  }
}

/** Acts of this page that are on the record: what a screen shows is asked for anew after each. */
export const actsDone = signal(0);

/** An act that is on the record: its entry, and the load it is about. */
export interface Recorded {
  n: number;
  load?: string;
}

/** Sends what is no act: signing in, a device. @throws Refused with what to tell the person */
export async function send<T>(address: string, body: object): Promise<T> {
  const response = await posted(address, body);
  if (!response.ok) throw new Refused(await problemText(response), response.status);
  return (await response.json()) as T;
}

/** Acts that were sent and not answered, by what they ask: asked again they are the same act. */
const unanswered = new Map<string, { id: string; askedMs: number }>();
/** Pressed again within this it is the same act; later it is another that asks for the same [ms]. */
const sameActMs = 10 * 60_000;

/**
 * Sends an act; it is on the record when this answers. An act whose answer got lost keeps its id, so
 * that pressing again does nothing twice. Where the server asks who it is, the person is asked, and
 * the same act is sent again.
 *
 * @throws Refused with what to tell the person
 */
export async function act(address: string, body: object): Promise<Recorded> {
  const asks = `${address} ${JSON.stringify(body)}`;
  const before = unanswered.get(asks);
  const askedMs = performance.now();
  const again = before !== undefined && askedMs - before.askedMs < sameActMs;
  const id = again ? before.id : randomId();
  unanswered.set(asks, { id, askedMs });
  let response = await posted(address, { id, ...body });
  for (let asked = 0; response.status === 401 && asked < asksAtMost; asked += 1) {
    const wants = (await response.json()) as { code?: string; meaning?: string };
    const { code, meaning = '' } = wants;
    const proven = await prove(code === 'signature' ? 'signature' : 'who', meaning);
    if (!proven) {
      unanswered.delete(asks);
      throw new Refused(say('act.nobody'), 401);
    }
    response = await posted(address, { id, ...body });
  }
  void loadMe();
  if (response.status === 202) throw new Refused(say('act.stored'), 202);
  // Without a collector nothing was recorded, but nobody knows what the network has swallowed.
  if (response.status !== 503 && response.status !== 504) unanswered.delete(asks);
  if (response.ok) {
    actsDone.value += 1;
    return (await response.json()) as Recorded;
  }
  switch (response.status) {
    case 503:
      throw new Refused(say('act.notRecorded'), 503);
    case 504:
      throw new Refused(say('act.unknown'), 504);
    case 409:
      throw new Refused(say('act.movedOn'), 409);
    default:
      throw new Refused(say('act.refused', { why: await problemText(response) }), response.status);
  }
}

function posted(address: string, body: object): Promise<Response> {
  return exchanged(address, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
}
