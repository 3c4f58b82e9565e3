import { pbkdf2, timingSafeEqual } from 'node:crypto';
import { TLSSocket } from 'node:tls';
import { promisify } from 'node:util';
import type { Client } from 'aedes';
import { covers, type TopicRights } from './topic-rights.ts';

const derive = promisify(pbkdf2);

/** Beyond any plant's users; beyond it the file is another one. */
const mostPasswords = 10_000;

interface Password {
  iterations: number;
  salt: Buffer;
  key: Buffer;
}

/** By name, as `setwell broker-users` and Mosquitto's own `mosquitto_passwd` write them. */
export type Passwords = ReadonlyMap<string, Password>;

/**
 * Reads a password file: a line `name:$7$iterations$salt$key` a user, PBKDF2 with SHA-512.
 *
 * @throws RangeError naming the line, never its content
 */
export function readPasswords(text: string): Passwords {
  const lines = text.split('\n').filter((line) => line.trim() !== '');
  if (lines.length > mostPasswords) {
    throw new RangeError(`found ${lines.length} lines; expected at most ${mostPasswords} users`);
  }
  const passwords = new Map<string, Password>();
  lines.forEach((line, index) => {
    const found =
      /^([^:\s]{1,120}):\$7\$(\d{1,7})\$([A-Za-z0-9+/=]{8,88})\$([A-Za-z0-9+/=]{88})$/.exec(
        line.trim(),
      );
    const [, name, iterations, salt, key] = found ?? [];
    if (name === undefined || salt === undefined || key === undefined) {
      throw new RangeError(`line ${index + 1}: expected name:$7$iterations$salt$key`);
    }
    passwords.set(name, {
      iterations: Number(iterations),
      salt: Buffer.from(salt, 'base64'),
      key: Buffer.from(key, 'base64'),
    });
  });
  return passwords;
}

/**
 * Who may come in at the built-in broker, and what each may say and hear there.
 *
 * A client is the user whose password it knows, or whose name its certificate bears. Its client id
 * is that name, or begins with it and a slash, which no name contains: nobody takes over another's
 * session, not even where one's name begins with the other's.
 */
export class BrokerEntry {
  readonly #rights: ReadonlyMap<string, TopicRights>;
  readonly #passwords: Passwords | null;
  readonly #users = new WeakMap<Client, TopicRights>();

  /** @param passwords null where clients come with certificates */
  constructor(rights: readonly TopicRights[], passwords: Passwords | null) {
    this.#rights = new Map(rights.map((one) => [one.name, one]));
    this.#passwords = passwords;
  }

  async admit(client: Client, username: string, password: Buffer): Promise<boolean> {
    const name = this.#passwords === null ? nameOnCertificate(client) : username;
    const rights = this.#rights.get(name);
    const isKnown = this.#passwords === null || (await this.#knows(name, password));
    if (rights === undefined || !isKnown || !isOwnId(client.id, name)) return false;
    this.#users.set(client, rights);
    return true;
  }

  async #knows(name: string, given: Buffer): Promise<boolean> {
    const password = this.#passwords?.get(name);
    if (password === undefined) return false;
    const { iterations, salt, key } = password;
    return timingSafeEqual(await derive(given, salt, iterations, key.length, 'sha512'), key);
  }

  /** Null, a client that nobody remembers, may nothing. */
  mayWrite(client: Client | null, topic: string): boolean {
    return client !== null && covers(this.#users.get(client)?.writes ?? [], topic);
  }

  mayRead(client: Client | null, filter: string): boolean {
    return client !== null && covers(this.#users.get(client)?.reads ?? [], filter);
  }
}

function isOwnId(id: string, name: string): boolean {
  return id === name || id.startsWith(`${name}/`);
}

function nameOnCertificate({ conn }: Client): string {
  if (!(conn instanceof TLSSocket) || !conn.authorized) return '';
  const { subject } = conn.getPeerCertificate();
  return typeof subject?.CN === 'string' ? subject.CN : '';
}
