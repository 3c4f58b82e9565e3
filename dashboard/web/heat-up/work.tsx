import type { HeatUpReport, WorkItem } from '@setwell/shared-models/api/heat-up';
import { workKinds } from '@setwell/shared-models/record/bodies';
import { useState } from 'preact/hooks';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { nowMs } from '../live.ts';
import { day, differenceText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';
import { changeText, faceOf, featureText, valueText } from './words.ts';

/** How long ago work was finished [min]: what people remember, without typing a date. */
const agoMin = [0, 60, 480, 1440] as const;

const leastAfter = 3;

function whereText(points: readonly string[], report: HeatUpReport): string {
  return points.length === 0
    ? say('heat.work.whole')
    : points.map((point) => faceOf(point, report.faces)).join(', ');
}

/**
 * Plans a job, or says that one was done.
 *
 * Longer than the limit because it is one form: a field after the other, then what they send.
 */
export function WorkForm({
  report,
  mode,
  point,
  work,
  because,
  close,
}: {
  report: HeatUpReport;
  mode: 'plan' | 'done';
  point: string | null;
  /** A job that was planned before. */
  work: string | null;
  because: string;
  close: () => void;
}) {
  const [what, setWhat] = useState<(typeof workKinds)[number]>('heater');
  const [where, setWhere] = useState(point ?? '');
  const [note, setNote] = useState('');
  const [ago, setAgo] = useState<number>(0);
  const { sent, send } = useSending();
  const submit = () => {
    const points = where === '' ? [] : [where];
    const name = work ?? `W-${String(Math.round(nowMs.value / 1000))}`;
    const address = `/stations/${encodeURIComponent(report.station)}/work`;
    const done = say('heat.work.recorded', { n: '' }).trim();
    const job = { work: name, points, what, note };
    if (mode === 'plan') send(address, { ...job, because }, done);
    else send(`${address}/done`, { ...job, doneMs: Math.round(nowMs.value - ago * 60_000) }, done);
  };
  return (
    <form
      class="reason-form"
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      <Field label={say('heat.work.what')}>
        <select
          value={what}
          onChange={(event) => setWhat(event.currentTarget.value as typeof what)}
        >
          {workKinds.map((kind) => (
            <option key={kind} value={kind}>
              {say(`heat.work.what.${kind}`)}
            </option>
          ))}
        </select>
      </Field>
      <Field label={say('heat.work.where')}>
        <select value={where} onChange={(event) => setWhere(event.currentTarget.value)}>
          <option value="">{say('heat.work.whole')}</option>
          {report.faces.map((face) => (
            <option key={face.point} value={face.point}>
              {faceOf(face.point, report.faces)} · {face.point}
            </option>
          ))}
        </select>
      </Field>
      {mode === 'done' && (
        <Field label={say('heat.work.when')}>
          <select value={ago} onChange={(event) => setAgo(Number(event.currentTarget.value))}>
            {agoMin.map((min) => (
              <option key={min} value={min}>
                {say(`heat.work.ago.${min}`)}
              </option>
            ))}
          </select>
        </Field>
      )}
      <TextField label={say('heat.work.note')} value={note} maxLength={1000} set={setNote} />
      <div class="acts-row">
        <button type="button" onClick={close}>
          {say('act.cancel')}
        </button>
        <button class="main" disabled={sent.state === 'sending' || sent.state === 'done'}>
          {say(mode === 'plan' ? 'heat.work.plan' : 'heat.work.done')}
        </button>
      </div>
      <Told sent={sent} />
    </form>
  );
}

function Job({ item, report }: { item: WorkItem; report: HeatUpReport }) {
  // Longer than the limit because it is one card: what was planned, done, shown and decided, in order.
  const [open, setOpen] = useState<'done' | 'close' | null>(null);
  const { sent, send } = useSending();
  const { planned, done, closed, says, evidence, survey } = item;
  const work = planned?.work ?? done?.work ?? '';
  const name = (kind: (typeof workKinds)[number]) => say(`heat.work.what.${kind}`);
  const closeAs = (how: 'proven' | 'not-proven', note: string) =>
    send(
      `/stations/${encodeURIComponent(report.station)}/work/${encodeURIComponent(work)}/close`,
      { evidence: how, note },
      say('heat.work.closed.proven'),
    );
  const telling = evidence.filter((each) => each.says === 'better' || each.says === 'worse');
  return (
    <li class="job">
      <p>
        <b class="id">{work}</b>{' '}
        {done !== null
          ? say('heat.work.doneAt', {
              day: day(done.doneMs),
              what: name(done.what),
              where: whereText(done.points, report),
              note: done.note,
            })
          : planned !== null &&
            say('heat.work.planned', {
              what: name(planned.what),
              where: whereText(planned.points, report),
            })}
      </p>
      {planned !== null && done === null && planned.because !== '' && (
        <small>{planned.because}</small>
      )}
      {says !== null && (
        <p>
          {says === 'wait' ? (
            say('heat.work.says.wait', { n: leastAfter })
          ) : (
            <b>{say(`heat.work.says.${says}`)}</b>
          )}
        </p>
      )}
      {(telling.length > 0 ? telling : says === 'not-proven' ? evidence : [])
        .slice(0, 4)
        .map((each) => (
          <small key={`${each.feature} ${each.point}`} class="num">
            {say('heat.work.evidence', {
              face: faceOf(each.point, report.faces),
              feature: featureText(each.feature),
              before: valueText(each.feature, each.before.value),
              after: valueText(each.feature, each.after.value),
              low: changeText(each.feature, each.low),
              high: changeText(each.feature, each.high),
              n: each.after.cycles,
            })}
          </small>
        ))}
      {survey !== null && (
        <small class="num">
          {survey.after === null
            ? say('heat.work.surveyWaits', {
                survey: survey.before.survey,
                k: differenceText(survey.before.uniformityK),
              })
            : say(`heat.work.survey.${survey.says}`, {
                before: differenceText(survey.before.uniformityK),
                after: differenceText(survey.after.uniformityK),
              })}
        </small>
      )}
      {closed !== null && (
        <p>{say(`heat.work.closed.${closed.evidence}`, { note: closed.note })}</p>
      )}
      {closed === null && open === null && (
        <div class="acts-row no-print">
          {done === null ? (
            <button onClick={() => setOpen('done')}>{say('heat.work.done')}</button>
          ) : (
            says !== 'wait' && (
              <button
                onClick={() => (says === 'proven' ? closeAs('proven', '') : setOpen('close'))}
              >
                {say('heat.work.close')}
              </button>
            )
          )}
        </div>
      )}
      {open === 'done' && (
        <WorkForm
          report={report}
          mode="done"
          work={work}
          point={planned?.points[0] ?? null}
          because=""
          close={() => setOpen(null)}
        />
      )}
      {open === 'close' && (
        <ReasonForm
          label={say('heat.work.why')}
          confirm={say('heat.work.close')}
          sending={sent.state === 'sending'}
          send={(reason) => closeAs('not-proven', reason)}
          cancel={() => setOpen(null)}
        />
      )}
      <Told sent={sent} />
    </li>
  );
}

/** Jobs of the station, newest first: planned, done, closed by evidence. */
export function WorkJobs({ report }: { report: HeatUpReport }) {
  return (
    <section class="section">
      <h2>{say('heat.work')}</h2>
      {report.work.length === 0 ? (
        <p>{say('heat.work.none')}</p>
      ) : (
        <ul class="jobs">
          {report.work.map((item) => (
            <Job key={item.planned?.work ?? item.done?.work} item={item} report={report} />
          ))}
        </ul>
      )}
    </section>
  );
}
