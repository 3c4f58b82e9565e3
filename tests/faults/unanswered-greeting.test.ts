import { once } from 'node:events';
import { createServer, type Socket } from 'node:net';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal } from '@setwell/collector/journal/journal';
import { freePort } from '../fixtures/free-port.ts';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';
import { clock, ownFolder } from './way-in.ts';

/** MQTT 3.1.1, 3.2: accepted, and the session is there. */
const connack = Buffer.from([0x20, 2, 1, 0]);
/** MQTT 3.1.1, 3.4: of message 7. */
const puback = Buffer.from([0x40, 2, 0, 7]);
/** The kind of packet of a PUBLISH at QoS 1, and of one with the retain flag. */
const isPublish = (bytes: Buffer) => bytes[0] === 0x32 || bytes[0] === 0x33;

/** MQTT 3.1.1, 3.3: message 7, at QoS 1. */
function publish(topic: string, payload: string): Buffer {
  const name = Buffer.from(topic);
  const body = Buffer.concat([Buffer.from([0, name.length]), name, Buffer.from([0, 7])]);
  const whole = Buffer.concat([body, Buffer.from(payload)]);
  return Buffer.concat([Buffer.from([0x32, whole.length]), whole]);
}

// After a line was cut a client sends again what was not acknowledged; what the broker kept meanwhile comes at once.
test('what a broker kept is acknowledged also while it owes us answers of before', async () => {
  const folder = ownFolder();
  const journal = openJournal(join(folder, 'journal.db'));
  onTestFinished(() => journal.close());
  const heard: Buffer[] = [];
  const lines: Socket[] = [];
  const kept = publish('plant/press-1/p1-ul', `{"t":${Date.now() - 1000},"v":20.5}`);
  const server = createServer((line) => {
    lines.push(line);
    const isFirst = lines.length === 1;
    line.on('error', () => {});
    line.on('data', (bytes) => {
      if (bytes[0] === 0x10) line.write(isFirst ? connack : Buffer.concat([connack, kept]));
      // Nothing of ours is ever answered, and the first line is cut with it on its way.
      else if (isFirst && isPublish(bytes)) line.resetAndDestroy();
      else heard.push(bytes);
    });
  });
  const port = await freePort();
  server.listen(port, '127.0.0.1');
  await once(server, 'listening');
  onTestFinished(() => {
    for (const line of lines) line.destroy();
    server.close();
  });
  const intake = new Intake({ plant: smallPlant(), journal, clock });
  const bus = connectBroker(
    { url: `mqtt://127.0.0.1:${port}` },
    { collector: 'c1', intake, clock },
  );
  onTestFinished(() => bus.close());
  await until(() => Buffer.concat(heard).includes(puback));
  expect(lines).toHaveLength(2);
});
