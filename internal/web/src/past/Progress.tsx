// A season against its plans.

import { useState } from 'preact/hooks'
import { Fault } from '../panel/common'
import { show } from '../units'
import { past, type Ref } from './calls'
import { Input, useAsked, useShown } from './parts'
import { amount, percent } from './words'

export function ProgressView({ onOpen }: { onOpen: (of: Ref) => void }) {
  const { units } = useShown()
  const [year, setYear] = useState(String(new Date().getFullYear()))
  const progress = useAsked(year, () => past.progress(year))
  const p = progress.value
  return (
    <div data-test="progress">
      <div class="row"><Input label="Year" type="number" step={1} value={year} onInput={setYear} test="progress-year" /></div>
      <Fault text={progress.error} />
      {p === null ? null : (
        <>
          <p>Over all steps <b>{show(units, 'area', p.done_m2)}</b> of <b>{show(units, 'area', p.planned_m2)}</b> are done.{p.unknown > 0 ? ` ${p.unknown} steps are of fields whose area is not known.` : ''}</p>
          {p.steps.length === 0 ? <p class="quiet">No plan is entered for this year; plans are entered with a field’s season.</p> : null}
          <ul class="steps">
            {p.steps.map((s) => (
              <li key={s.plan} data-test="step">
                <div><b>{s.field}</b>, {s.operation}: {s.product} {s.rate} <span class="note">{s.crop}</span></div>
                <meter min={0} max={1} value={s.share ?? 0} aria-label={`Done of ${s.field}, ${s.operation}`} />
                <div class="note">{s.share === null ? show(units, 'area', s.done_m2) : percent(s.share)} done{s.planned_amount === null ? '' : `, ${amount(units, s.unit, s.operations.length === 0 ? 0 : s.applied)} of ${amount(units, s.unit, s.planned_amount)}`}</div>
                {s.operations.map((o) => <button key={`${o.session} ${o.operation}`} type="button" class="button plain" onClick={() => onOpen(o)}>{o.session}</button>)}
              </li>
            ))}
          </ul>
          {p.unplanned.length === 0 ? null : <h3>Without a plan</h3>}
          <ul class="past-list">
            {p.unplanned.map((u, i) => <li key={i}><button type="button" class="button plain" onClick={() => onOpen(u.work)}>{u.field}, {u.operation}: {u.product}, {show(units, 'area', u.covered_m2)}</button></li>)}
          </ul>
        </>
      )}
    </div>
  )
}
