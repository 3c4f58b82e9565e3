import { lawConstants, standardErrorOf } from '@setwell/shared-models/cure/law-constants';
import type { LawCovariance, LawSpec } from '@setwell/shared-models/cure/law-spec';
import { degrees, shownDegrees } from '../degrees.ts';
import { say, sayAny } from '../language.ts';
import { number, saidDifference, saidNumber, saidTemperature } from '../phrase.ts';
import { sourceText } from './window-part.tsx';

function lawText(law: LawSpec): string {
  if ('switch' in law) return say('recipe.law.switch', { n: law.switch.length });
  switch (law.form) {
    case 'equivalent-time':
      return say('recipe.law.equivalent-time', { reference: saidTemperature(law.referenceC) });
    case 'z-value':
      return say('recipe.law.z-value', {
        reference: saidTemperature(law.referenceC),
        z: saidDifference(law.zK),
      });
    case 'degree-time':
      return say('recipe.law.degree-time', { base: saidTemperature(law.baseC) });
    case 'n-th-order':
    case 'autocatalytic':
    case 'dose':
      return say(`recipe.law.${law.form}`);
  }
}

function limitTexts({ validC, floorC, ceilingC }: LawSpec): string[] {
  const texts: string[] = [];
  if (validC !== undefined) {
    const [low, high] = validC.map((c) => saidNumber(shownDegrees(c)));
    texts.push(
      say('recipe.law.valid', { low: low ?? '', high: high ?? '', degrees: degrees.value }),
    );
  }
  if (floorC !== undefined) {
    texts.push(say('recipe.law.floor', { temperature: saidTemperature(floorC) }));
  }
  if (ceilingC !== undefined) {
    texts.push(say('recipe.law.ceiling', { temperature: saidTemperature(ceilingC) }));
  }
  return texts;
}

const lastOf = (name: string): string => name.split('.').at(-1) ?? name;

/** As it was said, as a power of ten where it is too large or small to be read. */
function exact(value: number): string {
  const size = Math.abs(value);
  if (value !== 0 && (size < 1e-3 || size >= 1e6)) {
    const [digits = '', power = ''] = value.toExponential().split('e');
    return `${saidNumber(Number(digits))}·10^${Number(power)}`.replace('^-', '^−');
  }
  return saidNumber(value);
}

/** A constant, or its standard error, in the unit that a reader uses. */
function constantText(name: string, value: number, isError = false): string {
  switch (lastOf(name)) {
    case 'activationEnergyJPerMol':
      return `${exact(value / 1000)} kJ/mol`;
    case 'aPerS':
      return `${exact(value)} 1/s`;
    case 'zK':
      return saidDifference(value);
    case 'baseC':
    case 'referenceC':
    case 'tg0C':
    case 'tgInfC':
      return isError ? saidDifference(value) : saidTemperature(value);
    default:
      return exact(value);
  }
}

/** In words, and behind them as the file calls it. */
function ConstantName({ name }: { name: string }) {
  return (
    <>
      {sayAny(`recipe.constant.${lastOf(name)}`, name)} <small class="soft">{name}</small>
    </>
  );
}

function constantsOf(law: LawSpec): [name: string, value: number][] {
  const chosen: [string, number][] =
    'form' in law && 'referenceC' in law ? [['referenceC', law.referenceC]] : [];
  return [...chosen, ...lawConstants(law)];
}

function Constants({ law }: { law: LawSpec }) {
  const constants = constantsOf(law);
  if (constants.length === 0) return null;
  const hasErrors = constants.some(([name]) => standardErrorOf(law, name) !== undefined);
  return (
    <table class="stacking constants">
      <thead>
        <tr>
          <th>{say('recipe.law.col.constant')}</th>
          <th class="right">{say('recipe.law.col.value')}</th>
          {hasErrors && <th class="right">{say('recipe.law.col.error')}</th>}
        </tr>
      </thead>
      <tbody>
        {constants.map(([name, value]) => {
          const error = standardErrorOf(law, name);
          return (
            <tr key={name}>
              <td>
                <ConstantName name={name} />
              </td>
              <td class="right">{constantText(name, value)}</td>
              {hasErrors && (
                <td class="right" data-col={say('recipe.law.col.error')}>
                  {error === undefined ? '' : `± ${constantText(name, error, true)}`}
                </td>
              )}
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

/** How much of both errors is one. */
function correlation({ matrix }: LawCovariance, i: number, j: number): string {
  const own = Math.sqrt((matrix[i]?.[i] ?? 0) * (matrix[j]?.[j] ?? 0));
  return own > 0 ? ` (${number((matrix[i]?.[j] ?? 0) / own, 2)})` : '';
}

function Covariance({ covariance }: { covariance: LawCovariance }) {
  const { names, matrix } = covariance;
  const title = say('recipe.law.covariance');
  return (
    <>
      <h3>{title}</h3>
      <p class="soft">{say('recipe.law.covariance.what')}</p>
      <div class="table-wide" tabIndex={0} role="region" aria-label={title}>
        <table class="covariance">
          <thead>
            <tr>
              <th>{say('recipe.law.col.constant')}</th>
              {names.map((name) => (
                <th key={name} class="right">
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {names.map((name, i) => (
              <tr key={name}>
                <th scope="row">
                  <ConstantName name={name} />
                </th>
                {names.map((other, j) => (
                  <td key={other} class="right">
                    {exact(matrix[i]?.[j] ?? 0)}
                    {correlation(covariance, i, j)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

/** The law in words, its constants, and how well they are known. */
export function LawPart({ law }: { law: LawSpec }) {
  const { covariance, standardErrors, source } = law;
  const isDose = 'form' in law && law.form === 'dose';
  return (
    <section class="section">
      <h2>{say('recipe.law')}</h2>
      <p>{[lawText(law), ...limitTexts(law)].join(' ')}</p>
      <p class="soft">{sourceText(source)}</p>
      <Constants law={law} />
      {covariance === undefined && standardErrors === undefined && !isDose && (
        <p>{say('recipe.law.exact')}</p>
      )}
      {covariance !== undefined && <Covariance covariance={covariance} />}
    </section>
  );
}
