import { generateKeyPair, randomBytes } from 'node:crypto';
import { isIP } from 'node:net';
import { promisify } from 'node:util';
import forge from 'node-forge';

const { md, pki } = forge;
const generate = promisify(generateKeyPair);

export interface Issued {
  certificatePem: string;
  keyPem: string;
}

const dayMs = 86_400_000;
/** An authority outlives the box that made it. */
const authorityDays = 3650;
/** Browsers and phones refuse a server's certificate that holds for longer (CA/Browser Forum: 398 days). */
export const serverDays = 397;
const keyBits = 3072;

/** The plant's own authority: phones and walls are told once to trust it. */
export async function newAuthority(site: string, nowMs: number): Promise<Issued> {
  const subject = [
    { name: 'commonName', value: `Setwell plant authority ${site}` },
    { name: 'organizationName', value: site },
  ];
  return issued(subject, null, nowMs, authorityDays, [
    { name: 'basicConstraints', cA: true, pathLenConstraint: 0, critical: true },
    { name: 'keyUsage', keyCertSign: true, cRLSign: true, critical: true },
    { name: 'subjectKeyIdentifier' },
  ]);
}

/**
 * A server's certificate for all its names and addresses.
 *
 * @throws Error where the authority's files are not of one another
 */
export async function newServer(
  names: string[],
  authority: Issued,
  nowMs: number,
): Promise<Issued> {
  const [first = 'setwell'] = names;
  return issued([{ name: 'commonName', value: first.slice(0, 64) }], authority, nowMs, serverDays, [
    { name: 'basicConstraints', cA: false, critical: true },
    { name: 'keyUsage', digitalSignature: true, keyEncipherment: true, critical: true },
    { name: 'extKeyUsage', serverAuth: true, clientAuth: true },
    {
      name: 'subjectAltName',
      altNames: names.map((name) =>
        isIP(name) === 0 ? { type: 2, value: name } : { type: 7, ip: name },
      ),
    },
    { name: 'subjectKeyIdentifier' },
  ]);
}

async function issued(
  subject: forge.pki.CertificateField[],
  by: Issued | null,
  nowMs: number,
  days: number,
  extensions: object[],
): Promise<Issued> {
  const { publicKey, privateKey } = await generate('rsa', {
    modulusLength: keyBits,
    publicKeyEncoding: { type: 'spki', format: 'pem' },
    privateKeyEncoding: { type: 'pkcs8', format: 'pem' },
  });
  const certificate = pki.createCertificate();
  certificate.publicKey = pki.publicKeyFromPem(publicKey);
  // A leading zero would be cut, a leading one bit makes it negative.
  certificate.serialNumber = `4${randomBytes(16).toString('hex').slice(1)}`;
  // Clocks in a plant differ: a minute old is old enough.
  certificate.validity.notBefore = new Date(nowMs - dayMs);
  certificate.validity.notAfter = new Date(nowMs + days * dayMs);
  certificate.setSubject(subject);
  const issuer = by === null ? null : pki.certificateFromPem(by.certificatePem);
  certificate.setIssuer(issuer?.subject.attributes ?? subject);
  certificate.setExtensions(extensions);
  const key = pki.privateKeyFromPem(by?.keyPem ?? privateKey);
  certificate.sign(key, md.sha256.create());
  if (issuer && !issuer.verify(certificate)) {
    throw new Error('the authority’s key does not belong to its certificate');
  }
  return { certificatePem: pki.certificateToPem(certificate), keyPem: privateKey };
}
