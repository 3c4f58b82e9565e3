import { createHash, randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * scrypt with N = 2^15, r = 8, p = 3: one of the settings of equal strength that the OWASP password
 * storage cheat sheet lists; 32 MiB and about a tenth of a second each.
 */
const cost = { N: 2 ** 15, r: 8, p: 3, maxmem: 64 * 1024 * 1024 };
const keyBytes = 32;

/** `scrypt$N$r$p$salt$key`, so that old ones can be read after the cost is raised. */
export async function hashed(secret: string): Promise<string> {
  const salt = randomBytes(16);
  const key = await derived(secret, salt, cost);
  const { N, r, p } = cost;
  return ['scrypt', N, r, p, salt.toString('base64'), key.toString('base64')].join('$');
}

/** Takes the same time for a person who is not there: pass null. */
export async function isSecret(secret: string, stored: string | null): Promise<boolean> {
  const [, n, r, p, salt = '', key = ''] = (stored ?? nobody).split('$');
  const settings = { N: Number(n), r: Number(r), p: Number(p), maxmem: cost.maxmem };
  const expected = Buffer.from(key, 'base64');
  const found = await derived(secret, Buffer.from(salt, 'base64'), settings);
  return stored !== null && timingSafeEqual(found, expected);
}

/** A secret of ours: 256 bits of chance, so that a plain digest is enough to keep. */
export function newToken(): { token: string; digest: string } {
  const token = randomBytes(32).toString('base64url');
  return { token, digest: digestOf(token) };
}

export function digestOf(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}

/** Digits that a person reads from one screen and types into another. */
export function newCode(digits: number): string {
  let code = '';
  while (code.length < digits) {
    // 250 is the greatest multiple of ten below 256: every digit is as likely.
    for (const byte of randomBytes(digits)) if (byte < 250) code += String(byte % 10);
  }
  return code.slice(0, digits);
}

const nobody = `scrypt$${String(cost.N)}$8$3$${Buffer.alloc(16).toString('base64')}$${Buffer.alloc(keyBytes).toString('base64')}`;

function derived(secret: string, salt: Buffer, settings: typeof cost): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    scrypt(secret.normalize('NFKC'), salt, keyBytes, settings, (error, key) => {
      if (error) reject(error);
      else resolve(key);
    });
  });
}
