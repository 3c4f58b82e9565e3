import type { VerdictToken } from '@setwell/shared-models/api/floor';
import { say } from '../language.ts';

/** One frame, two posts: the window. Where the block stands is the meaning; colour comes third. */
const posts = 'M22 6h-6v36h6M42 6h6v36h-6';

function block(token: VerdictToken) {
  switch (token) {
    case 'not-yet':
      return (
        <>
          <path class="fill-not-yet edge" d="M0 15h3l9 9-9 9H0z" />
          <path class="dots" d="M24 24h3M31 24h3M38 24h3" />
        </>
      );
    case 'in-window':
      return <rect class="fill-in-window edge" x="21" y="11" width="22" height="26" />;
    case 'under':
      return (
        <>
          <rect class="fill-under edge" x="-6" y="11" width="17" height="26" />
          <path class="post" d="M-6 46h60" />
        </>
      );
    case 'over':
      return (
        <>
          <rect class="fill-over edge" x="53" y="11" width="17" height="26" />
          <path class="post" d="M10 46h60" />
        </>
      );
    case 'unproven':
      return (
        <>
          <rect class="fill-unproven edge" x="2" y="13" width="32" height="22" />
          <rect class="ink-hatch" x="2" y="13" width="32" height="22" />
        </>
      );
  }
}

/** The sign of a verdict; its size is the stylesheet's. Hidden from readers where the word stands beside it. */
export function Sign({
  token,
  dashed = false,
  beside = true,
}: {
  token: VerdictToken | null;
  dashed?: boolean;
  beside?: boolean;
}) {
  const name = beside
    ? ({ 'aria-hidden': true } as const)
    : ({ role: 'img', 'aria-label': token === null ? '' : say(`verdict.${token}`) } as const);
  return (
    <svg class="sign" viewBox="-8 0 80 50" {...name}>
      {token !== null && block(token)}
      {token !== null && <path class={dashed ? 'post dashed' : 'post'} d={posts} />}
    </svg>
  );
}
