import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { mayAsk, postWebhook } from '@setwell/collector/notify/webhook';

const secret = 'a secret of thirty-two characters';
const asked: string[] = [];
let server: Server;
let port: number;

/** Answers `/away` with a redirect into the plant, everything else with yes. */
beforeAll(async () => {
  server = createServer((request, response) => {
    asked.push(request.url ?? '');
    if (request.url !== '/away') response.end('yes');
    else response.writeHead(307, { location: `http://127.0.0.1:${String(port)}/inside` }).end();
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  port = (server.address() as AddressInfo).port;
});
afterAll(() => new Promise((resolve) => server.close(resolve)));

const post = (url: string, allow: string[] = []) => postWebhook({ url, secret, allow }, {}, 0);

// Special-purpose addresses: RFC 6890; multicast: RFC 5771, RFC 4291; NAT64: RFC 6052; 6to4: RFC 3056.
test.each([
  ...['0.0.0.0', '10.1.2.3', '100.64.0.1', '127.0.0.1', '127.8.8.8', '169.254.169.254'],
  ...['172.16.0.1', '172.31.255.255', '192.0.0.8', '192.168.1.1', '198.18.0.1', '224.0.0.1'],
  ...['240.0.0.1', '255.255.255.255', '::', '::1', 'fc00::1', 'fd12:3456::1', 'fe80::1', 'ff02::1'],
  ...['::ffff:127.0.0.1', '::ffff:7f00:1', '::ffff:10.0.0.1', '::FFFF:192.168.0.1'],
  ...['64:ff9b::7f00:1', '2002:7f00:1::', 'localhost', '', '127.1', '0x7f000001'],
])('%s is inside, and asked only where the plant’s file says so', (address) => {
  expect(mayAsk(address, [])).toBe(false);
  expect(mayAsk(address, [address])).toBe(true);
});

test.each(['8.8.8.8', '172.32.0.1', '100.128.0.1', '192.0.1.1', '2001:4860:4860::8888'])(
  '%s is outside and may be asked',
  (address) => expect(mayAsk(address, [])).toBe(true),
);

// Ways to write 127.0.0.1 that an address parser turns into it, and a name that resolves to it.
test.each([
  '127.0.0.1',
  '127.1',
  '0x7f000001',
  '2130706433',
  '[::1]',
  '[::ffff:127.0.0.1]',
  'localhost',
])('a webhook at %s is not asked', async (host) => {
  const before = asked.length;
  await expect(post(`http://${host}:${String(port)}/calls`)).rejects.toThrow('may be asked');
  expect(asked.length).toBe(before);
});

test('a redirect is not followed, wherever it leads', async () => {
  const url = `http://127.0.0.1:${String(port)}/away`;
  await expect(post(url, ['127.0.0.1'])).rejects.toThrow();
  expect(asked.at(-1)).toBe('/away');
  await post(url.replace('away', 'calls'), ['127.0.0.1']);
  expect(asked.at(-1)).toBe('/calls');
});
