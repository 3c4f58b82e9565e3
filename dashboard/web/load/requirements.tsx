import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { RequirementCheck, RequirementResult } from '@setwell/shared-models/score/shape';
import { say, sayAny } from '../language.ts';
import { rowMs } from '../live.ts';
import { clockFrom } from '../phrase.ts';
import { boundsText, rangeText } from './amount.ts';

/** What a check is called; a mix or a zone has its own name behind ours. */
function checkName({ what }: RequirementCheck): string {
  const [kind = what, ...name] = what.split(' ');
  return sayAny(`check.${what}`, [sayAny(`check.${kind}`, kind), ...name].join(' '));
}

/** One figure against its bounds: how it was, what was asked, when it was at its worst. */
function Check({ check }: { check: RequirementCheck }) {
  const { low, high, unit, atMs, verdict } = check;
  const found = low === null || high === null ? say('check.unheard') : rangeText(low, high, unit);
  const when = atMs === null || verdict === 'in-window' ? '' : clockFrom(atMs, rowMs.value);
  return (
    <tr class="check">
      <td>{checkName(check)}</td>
      <td>
        {found} <small>{boundsText(check)}</small>
        {when !== '' && <small> · {say('check.at', { clock: when })}</small>}
      </td>
      <td>{sayAny(`verdict.${verdict}`, '–')}</td>
    </tr>
  );
}

function Requirement({ requirement }: { requirement: RequirementResult }) {
  const { kind, procedure, coveredBy, evidence, checks, verdict } = requirement;
  const covered =
    procedure === null ? say(`load.covered.${coveredBy}`) : say('load.covered.by', { procedure });
  return (
    <tbody>
      <tr>
        <th scope="row">{sayAny(`kind.${kind}`, kind)}</th>
        <td>
          {covered}
          {checks.length > 0 || evidence === null
            ? ''
            : ` · ${sayAny(`check.${evidence}`, evidence)}`}
        </td>
        <td>{sayAny(`verdict.${verdict}`, '–')}</td>
      </tr>
      {checks.map((check, i) => (
        <Check key={i} check={check} />
      ))}
    </tbody>
  );
}

/** What the recipe asks for beside heat at each place, how each is known, and each of its figures. */
export function Requirements({ detail }: { detail: LoadDetail }) {
  if (detail.requirements.length === 0) return null;
  return (
    <section>
      <h2>{say('load.requirements')}</h2>
      <p class="soft">{say('load.heat')}</p>
      <table class="requirements">
        <thead>
          <tr>
            <th>{say('load.requirement.col')}</th>
            <th>{say('load.requirement.how')}</th>
            <th>{say('load.requirement.verdict')}</th>
          </tr>
        </thead>
        {detail.requirements.map((requirement) => (
          <Requirement key={requirement.kind} requirement={requirement} />
        ))}
      </table>
    </section>
  );
}
