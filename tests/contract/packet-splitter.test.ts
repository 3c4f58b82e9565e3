import fc from 'fast-check';
import { expect, test } from 'vitest';
import { PacketSplitter, type Published } from '@setwell/collector/intake/packet-splitter';

/** A packet as the standards lay it out: MQTT 3.1.1, 2.2.3 (remaining length), 3.3 (PUBLISH). */
function packet(first: number, ...parts: Buffer[]): Buffer {
  const body = Buffer.concat(parts);
  const length: number[] = [];
  let left = body.length;
  do {
    length.push((left % 128) + (left >= 128 ? 128 : 0));
    left = Math.floor(left / 128);
  } while (left > 0);
  return Buffer.concat([Buffer.from([first, ...length]), body]);
}

function uint16(value: number): Buffer {
  return Buffer.from([value >> 8, value & 255]);
}

interface Said extends Omit<Published, 'payload'> {
  payload: string;
}

function publish({ topic, payload, retained, messageId }: Said, properties?: Buffer): Buffer {
  const name = Buffer.from(topic);
  return packet(
    0x30 + (messageId === null ? 0 : 2) + (retained ? 1 : 0),
    ...[uint16(name.length), name, ...(messageId === null ? [] : [uint16(messageId)])],
    ...(properties === undefined ? [] : [properties]),
    Buffer.from(payload),
  );
}

/** What comes out of a stream that arrives in these pieces. */
function split(pieces: readonly Buffer[], version: 4 | 5 = 4) {
  const out = { said: [] as Said[], greetings: [] as boolean[], others: '' };
  const splitter = new PacketSplitter(version, {
    published: ({ payload, ...message }) =>
      void out.said.push({ ...message, payload: payload.toString() }),
    greeted: (sessionPresent) => void out.greetings.push(sessionPresent),
  });
  for (const piece of pieces) {
    out.others += Buffer.concat(splitter.split(piece)).toString('hex');
  }
  return out;
}

const connack = Buffer.from('20020100', 'hex');
const suback = Buffer.from('9003000101', 'hex');
const pingresp = Buffer.from('d000', 'hex');
const message: Said = {
  topic: 'plant/press-1/p1-ul',
  payload: '20.5',
  retained: false,
  messageId: 7,
};

test('each message comes whole, wherever the stream is cut, and all else is the library’s', () => {
  const one = fc.record({
    topic: fc.string({ minLength: 1, maxLength: 200, unit: 'grapheme' }),
    payload: fc.string({ maxLength: 300 }),
    retained: fc.boolean(),
    messageId: fc.option(fc.integer({ min: 1, max: 65_535 })),
  });
  const between = fc.constantFrom(null, suback, pingresp);
  fc.assert(
    fc.property(
      fc.array(fc.tuple(one, between), { maxLength: 12 }),
      fc.array(fc.nat(4000), { maxLength: 9 }),
      (sent, cuts) => {
        const others = sent.flatMap(([, other]) => (other === null ? [] : [other]));
        const stream = Buffer.concat([
          connack,
          ...sent.flatMap(([said, other]) => [publish(said), ...(other === null ? [] : [other])]),
        ]);
        const at = [0, ...cuts.filter((cut) => cut < stream.length).sort((a, b) => a - b)];
        const pieces = at.map((from, i) => stream.subarray(from, at[i + 1] ?? stream.length));
        expect(split(pieces)).toEqual({
          said: sent.map(([said]) => said),
          greetings: [true],
          others: Buffer.concat([connack, ...others]).toString('hex'),
        });
      },
    ),
    { numRuns: 300, seed: 5 },
  );
});

test('a byte at a time is a stream too', () => {
  const stream = Buffer.concat([
    connack,
    publish({ ...message, payload: '7'.repeat(20_000) }),
    suback,
  ]);
  const out = split(Array.from(stream, (byte) => Buffer.from([byte])));
  expect(out.said[0]?.payload).toHaveLength(20_000);
  expect(out.others).toBe(connack.toString('hex') + suback.toString('hex'));
});

test('properties of version 5 stand between number and payload', () => {
  // Message expiry interval (2, four bytes), then a user property (38) that makes the length two bytes long.
  const user = Buffer.concat([
    Buffer.from([38]),
    uint16(1),
    Buffer.from('k'),
    uint16(150),
    Buffer.alloc(150, 'x'),
  ]);
  const properties = Buffer.concat([Buffer.from([2, 0, 0, 0, 9]), user]);
  const length = Buffer.from([(properties.length % 128) + 128, properties.length >> 7]);
  const none = Buffer.from([0]);
  const stream = [
    publish(message, Buffer.concat([length, properties])),
    publish({ ...message, messageId: null }, none),
  ];
  expect(split(stream, 5).said).toEqual([message, { ...message, messageId: null }]);
});

test('a broker that turns us away has not greeted', () => {
  const refused = Buffer.from('20020005', 'hex');
  expect(split([refused])).toEqual({ said: [], greetings: [], others: refused.toString('hex') });
});

test.each([
  ['a length of five bytes', '30ffffffff01'],
  ['a topic longer than its packet', '3003002070'],
  ['a message without a topic’s length', '300100'],
  ['a number that is cut off', '3204000170ff'],
])('%s, and all behind it, is left to the library to refuse', (_, hex) => {
  const out = split([Buffer.from(hex, 'hex'), publish(message)]);
  expect(out.said).toEqual([]);
  expect(out.others).toBe(hex + publish(message).toString('hex'));
});

test('properties longer than their packet are left to the library to refuse', () => {
  const stream = publish({ ...message, payload: '' }, Buffer.from([9]));
  expect(split([stream], 5)).toMatchObject({ said: [], others: stream.toString('hex') });
});

test('a message at QoS 2, which nobody asked for, is the library’s, and the next is ours', () => {
  const twice = publish(message);
  twice[0] = 0x34;
  const out = split([Buffer.concat([twice, publish(message)])]);
  expect(out).toMatchObject({ said: [message], others: twice.toString('hex') });
});
