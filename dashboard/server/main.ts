import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { startDashboard, type DashboardSettings } from './server.ts';

const usage =
  'dashboard --collector URL --token-file FILE --port N --data DIR [--host ADDRESS --name NAME… (--tls-cert FILE --tls-key FILE | --plain-http)] [--sign-on URL --sign-on-client ID --sign-on-name NAME --sign-on-secret FILE]   (URL: http://host:port or unix:/path)';

/** Bad arguments: 2; a port that is taken, a folder that cannot be written: 3. */
const badInput = 2;
const environment = 3;

function refuse(message: string, code: number): never {
  process.stderr.write(`${message}\n${usage}\n`);
  process.exit(code);
}

function settings(): Parameters<typeof startDashboard>[0] {
  const { values } = parseArgs({
    options: {
      collector: { type: 'string' },
      'token-file': { type: 'string' },
      port: { type: 'string', default: '8410' },
      data: { type: 'string', default: './data' },
      host: { type: 'string' },
      name: { type: 'string', multiple: true, default: [] },
      'tls-cert': { type: 'string' },
      'tls-key': { type: 'string' },
      'plain-http': { type: 'boolean', default: false },
      'sign-on': { type: 'string' },
      'sign-on-client': { type: 'string' },
      'sign-on-name': { type: 'string' },
      'sign-on-secret': { type: 'string' },
    },
  });
  if (values.collector === undefined)
    refuse('--collector: nothing found, expected a URL', badInput);
  const port = Number(values.port);
  if (!Number.isInteger(port) || port < 0 || port > 65_535) {
    refuse(`--port: found "${values.port}", expected a number from 0 to 65535`, badInput);
  }
  const { host, name } = values;
  const files = { cert: values['tls-cert'], key: values['tls-key'] };
  const tls =
    files.cert === undefined || files.key === undefined
      ? null
      : { cert: readFileSync(files.cert), key: readFileSync(files.key) };
  if (host !== undefined && tls === null && !values['plain-http']) {
    const expected = '--tls-cert and --tls-key (setwell certificate makes them), or --plain-http';
    refuse(`--host: found "${host}" without TLS, expected ${expected}`, badInput);
  }
  const tokenFile = values['token-file'];
  const built = import.meta.url.includes('/dist/');
  return {
    collectorUrl: values.collector,
    token: tokenFile === undefined ? '' : readFileSync(tokenFile, 'utf8').trim(),
    port,
    ...(host === undefined ? {} : { address: { host, names: [host, ...name], tls } }),
    ...signOnOf(values),
    dataFolder: values.data,
    webFolder: fileURLToPath(new URL(built ? '../web' : '../dist/web', import.meta.url)),
    version: packageVersion(built),
    log: (line) => process.stderr.write(`${line}\n`),
  };
}

/** The plant's own sign-in service, where all of it is told. */
function signOnOf(values: Record<string, unknown>): Pick<DashboardSettings, 'signOn'> {
  const text = (name: string): string | null => {
    const value = values[name];
    return typeof value === 'string' ? value : null;
  };
  const issuer = text('sign-on');
  if (issuer === null) return {};
  const clientId = text('sign-on-client');
  if (clientId === null) {
    refuse('--sign-on-client: nothing found, expected the name the service knows us by', badInput);
  }
  const file = text('sign-on-secret');
  const secret = file === null ? null : readFileSync(file, 'utf8').trim();
  return { signOn: { issuer, clientId, secret, name: text('sign-on-name') ?? issuer } };
}

function packageVersion(built: boolean): string {
  const file = new URL(built ? '../../package.json' : '../package.json', import.meta.url);
  return (JSON.parse(readFileSync(file, 'utf8')) as { version: string }).version;
}

try {
  const dashboard = await startDashboard(settings());
  process.stdout.write(`dashboard http://127.0.0.1:${dashboard.port}\n`);
  if (dashboard.setupFile !== null) process.send?.({ setupFile: dashboard.setupFile });
  const stop = (): void => {
    void dashboard.stop().then(() => process.exit(0));
  };
  process.once('SIGTERM', stop);
  // Whoever started us with a channel is gone: nobody would end us, and our port would stay taken.
  process.once('disconnect', stop);
  process.once('SIGINT', stop);
} catch (error) {
  const message = error instanceof Error ? error.message : String(error);
  const code = error instanceof TypeError ? badInput : environment;
  refuse(message, code);
}
