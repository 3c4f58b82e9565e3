import { execFile } from 'node:child_process';

/** A question to the machine must not hang [ms]. */
const answerWithinMs = 2000;

/** Whether the machine's clock follows a time server; null where it cannot say. */
export function isSynchronised(): Promise<boolean | null> {
  const asked = ['show', '--property=NTPSynchronized', '--value'];
  return new Promise((resolve) => {
    execFile('timedatectl', asked, { timeout: answerWithinMs }, (error, said) => {
      const word = said.trim();
      resolve(error || !/^(yes|no)$/.test(word) ? null : word === 'yes');
    });
  });
}
