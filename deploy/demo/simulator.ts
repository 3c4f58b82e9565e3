import { plantMs, type ClockSetting } from '@setwell/shared-models/api/clock';
import mqtt from 'mqtt';
import { parseArgs } from 'node:util';
import { Controllers, eventPublication, type Publication } from './payload.ts';
import { eventsBefore, Works } from './works.ts';

/** Often enough that the floor moves smoothly, seldom enough to leave the machine to the collector [wall ms]. */
const everyMs = 100;

/** More than a minute behind the clock is a machine that slept: what lies between is told in one go. */
const { values } = parseArgs({
  options: {
    broker: { type: 'string' },
    clock: { type: 'string' },
    seed: { type: 'string', default: '1' },
  },
});

const usage =
  'simulator.js --broker mqtt://127.0.0.1:1883 --clock \'{"originMs":…,"wallOriginMs":…,"rate":30}\' [--seed N]';

const clock = readClock(values.clock);
const seed = Number(values.seed);
if (values.broker === undefined || clock === null || !Number.isInteger(seed)) {
  process.stderr.write(`expected: ${usage}\n`);
  process.exitCode = 2;
} else {
  run(values.broker, clock, seed);
}

/** Publishes the demo works to a broker until it is stopped. */
function run(broker: string, setting: ClockSetting, seed: number): void {
  const works = Works.at(plantMs(setting, Date.now()), { seed, pressEveryS: 1 });
  const controllers = new Controllers();
  const client = mqtt.connect(broker, {
    clientId: 'demo-works-controllers',
    protocolVersion: 4,
    clean: true,
    reconnectPeriod: 1000,
  });
  const publish = ({ topic, payload }: Publication): void => {
    client.publish(topic, payload, { qos: 1 });
  };
  client.on('error', (error) => process.stderr.write(`broker ${broker}: ${error.message}\n`));
  client.once('connect', () => {
    for (const event of eventsBefore(works.nowMs, seed)) publish(eventPublication(event));
    const ticking = setInterval(() => {
      works.advance(plantMs(setting, Date.now()), (happening) =>
        controllers.write(happening).forEach(publish),
      );
    }, everyMs);
    // A channel that closes means that whoever started us is gone.
    for (const signal of ['SIGINT', 'SIGTERM', 'disconnect'] as const)
      process.once(signal, () => {
        clearInterval(ticking);
        client.end(false, () => process.exit(0));
      });
  });
}

function readClock(text: string | undefined): ClockSetting | null {
  try {
    const { originMs, wallOriginMs, rate } = JSON.parse(text ?? '') as Record<string, unknown>;
    return typeof originMs === 'number' &&
      typeof wallOriginMs === 'number' &&
      typeof rate === 'number'
      ? { originMs, wallOriginMs, rate }
      : null;
  } catch {
    return null;
  }
}
