import { readFileSync } from 'node:fs';
import type { Transporter } from 'nodemailer';
import type { MailServer } from '@setwell/shared-models/plant/tell-schema';
import { TellError } from './tell-error.ts';

const answerWithinMs = 15_000;

export interface Mail {
  to: readonly string[];
  subject: string;
  text: string;
}

/**
 * The plant's mail server. One connection a message: a few a day are sent, and nothing is kept open.
 *
 * @param password null: the server asks for none
 */
export function mailer(server: MailServer, password: string | null): (mail: Mail) => Promise<void> {
  const { from } = server;
  return async ({ to, subject, text }) => {
    const transport = await transportTo(server, password);
    try {
      await transport.sendMail({ from, to: [...to], subject, text });
    } catch (error) {
      throw tellErrorOf(error);
    }
  };
}

async function transportTo(
  { host, port, security, username }: MailServer,
  password: string | null,
): Promise<Transporter> {
  // Loaded with the first message: most plants tell nobody by mail.
  const { createTransport } = await import('nodemailer');
  return createTransport({
    host,
    port,
    secure: security === 'tls',
    requireTLS: security === 'starttls',
    ignoreTLS: security === 'none',
    connectionTimeout: answerWithinMs,
    greetingTimeout: answerWithinMs,
    socketTimeout: answerWithinMs,
    // A message is made of our own words; nothing of it may read a file or ask an address.
    disableFileAccess: true,
    disableUrlAccess: true,
    ...(username === undefined ? {} : { auth: { user: username, pass: password ?? '' } }),
  });
}

/** 5xx of the server is its last word on this message; everything else may pass later. */
function tellErrorOf(error: unknown): TellError {
  const { message, responseCode, code } = error as Error & { responseCode?: number; code?: string };
  const refused = responseCode !== undefined && responseCode >= 500 && code !== 'EAUTH';
  return new TellError(message, !refused);
}

/** A secret stands in a file of its own, read when it is needed. @throws TellError */
export function secretIn(file: string | undefined): string | null {
  if (file === undefined) return null;
  try {
    return readFileSync(file, 'utf8').trim();
  } catch {
    throw new TellError(`${file} cannot be read`, true);
  }
}
