import { createHash, X509Certificate } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { isIP } from 'node:net';
import { hostname } from 'node:os';
import { join, resolve } from 'node:path';
import type { Command } from 'commander';
import { CommandProblem } from '../problem.ts';
import { newAuthority, newServer, serverDays, type Issued } from './plant-authority.ts';
import { answered, type Answer } from './answer.ts';

interface CertificateOptions {
  name: string[];
  out: string;
  site: string;
}

const namesAtMost = 50;

export function registerCertificate(program: Command): void {
  program
    .command('certificate')
    .description('the plant’s own authority, and a certificate for this box by it')
    .option('--name <name...>', 'names and addresses that browsers use for this box', [hostname()])
    .option('--site <name>', 'what the authority is called', 'plant')
    .option('--out <folder>', 'where the files lie', 'certificates')
    .action(answered(certificate));
}

async function certificate({ name, out, site }: CertificateOptions): Promise<Answer> {
  for (const each of name) {
    if (isIP(each) !== 0 || /^(?=.{1,253}$)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.?)+$/i.test(each))
      continue;
    const expected = 'a host name or an IP address';
    throw new CommandProblem({ code: 'bad-option', field: '--name', found: each, expected });
  }
  if (name.length > namesAtMost) {
    const expected = `at most ${String(namesAtMost)} names`;
    throw new CommandProblem({
      code: 'bad-option',
      field: '--name',
      found: String(name.length),
      expected,
    });
  }
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const nowMs = Date.now();
  const files = {
    authority: {
      certificate: join(folder, 'authority.pem'),
      key: join(folder, 'authority-key.pem'),
    },
    server: { certificate: join(folder, 'server.pem'), key: join(folder, 'server-key.pem') },
  };
  const known = existsSync(files.authority.certificate);
  const authority = known ? read(files.authority) : await newAuthority(site, nowMs);
  if (!known) keep(files.authority, authority);
  const server = await newServer(name, authority, nowMs);
  // Browsers want the whole chain; the authority itself they have.
  keep(files.server, server);
  const sha256 = createHash('sha256')
    .update(new X509Certificate(authority.certificatePem).raw)
    .digest('hex');
  const document = {
    files,
    names: name,
    authoritySha256: sha256,
    days: serverDays,
    authorityIsNew: !known,
  };
  return { document, text: told(document) };
}

function told({
  files,
  names,
  authoritySha256,
  days,
  authorityIsNew,
}: {
  files: { authority: { certificate: string }; server: { certificate: string; key: string } };
  names: string[];
  authoritySha256: string;
  days: number;
  authorityIsNew: boolean;
}): string {
  return [
    `authority   ${files.authority.certificate}${authorityIsNew ? '' : '   (kept as it was)'}`,
    `            SHA-256 ${authoritySha256}`,
    `this box    ${files.server.certificate}   for ${names.join(', ')}, ${String(days)} days; run this again before then`,
    '',
    'serve by it setwell start --host ADDRESS --tls-cert FILE --tls-key FILE',
    'trust it    phone: send authority.pem to it, open it, install it as a certificate authority,',
    '            and compare the SHA-256 that the phone shows with the one above',
    '            Debian kiosk: copy it to /usr/local/share/ca-certificates/setwell.crt, then update-ca-certificates;',
    '            Chromium there also wants it in its own store (certutil -A -t C,,)',
    'keep apart  authority-key.pem can speak for every name in your plant: move it off this box',
  ].join('\n');
}

function read({ certificate, key }: { certificate: string; key: string }): Issued {
  try {
    const certificatePem = readFileSync(certificate, 'utf8');
    const keyPem = readFileSync(key, 'utf8');
    return { certificatePem, keyPem };
  } catch (error) {
    const { code, path } = error as NodeJS.ErrnoException;
    const expected = 'the authority’s certificate and its key; to begin anew, move both away';
    throw new CommandProblem({
      ...{
        code: 'no-file',
        file: path ?? certificate,
        found: code ?? 'nothing',
        expected,
        exit: 3,
      },
    });
  }
}

function keep(files: { certificate: string; key: string }, issued: Issued): void {
  writeFileSync(files.key, issued.keyPem, { mode: 0o600 });
  writeFileSync(files.certificate, issued.certificatePem, { mode: 0o644 });
}
