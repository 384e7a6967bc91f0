// One recorded operation: its figures, what was said later about it, and what can be
// done about it.

import { useState } from 'preact/hooks'
import { Act, Card, Fault, useAction } from '../panel/common'
import { figure, show, type System } from '../units'
import { past, type Detail as DetailOf, type Ref } from './calls'
import { Complete } from './Complete'
import { CorrectForm, SplitForm } from './Correct'
import { JoinForm } from './Join'
import { Fold, useAsked, useShown } from './parts'
import { PastMap } from './PastMap'
import { Trail } from './Trail'
import { WeighedForm, WeighedList } from './Weighed'
import { amount, day, fieldCapacity, hours, minute, moment, percent, rate } from './words'

type Doing = 'correct' | 'split' | 'weighed' | 'join' | null

const doings = [['correct', 'Correct'], ['split', 'Split'], ['weighed', 'Weighed'], ['join', 'Join']] as const

export function Detail({ of, onBack, onOpen }: { of: Ref; onBack: () => void; onOpen: (of: Ref) => void }) {
  const { units, zone } = useShown()
  const key = `${of.session} ${of.operation}`
  const detail = useAsked(key, () => past.record(of))
  const session = useAsked(of.session, () => past.session(of.session))
  const [doing, setDoing] = useState<Doing>(null)
  const [told, setTold] = useState<string | null>(null)
  const d = detail.value
  const written = (words: string) => {
    setDoing(null)
    setTold(words)
    // the figures are worked out anew behind the answer
    const look = (tries: number) => {
      detail.again()
      session.again()
      void past.session(of.session).then((answer) => {
        if (answer.ok && answer.value.state === 'working' && tries > 0) setTimeout(() => look(tries - 1), 400)
        else { detail.again(); session.again() }
      })
    }
    look(200)
  }
  return (
    <div class="past-detail" data-test="past-detail" data-state={session.value?.state ?? ''}>
      <div class="row">
        <button type="button" class="button plain" data-test="past-back" onClick={onBack}>Back</button>
        <a class="button plain as-button" data-test="past-watch" href={`/past/${encodeURIComponent(of.session)}/`}>Watch it</a>
      </div>
      <Fault text={detail.error} />
      {told === null ? null : <p class="told" role="status" data-test="past-told">{told}{session.value?.state === 'working' ? ' The figures are being worked out anew.' : ''}</p>}
      {session.value?.state === 'failed' ? <p class="fault">The session cannot be worked out: {session.value.error}</p> : null}
      {d === null ? (detail.error === null ? <p class="quiet">One moment …</p> : null) : (
        <>
          <h3 class="past-title" data-test="past-title">{d.work.field === '' ? 'Field without a name' : d.work.field}: {d.work.kind === '' ? 'operation not stated' : d.work.kind}</h3>
          <p class="quiet">{day(d.work.start, zone)}, {minute(d.work.start, zone)} to {minute(d.work.end, zone)}{d.work.crop === '' ? '' : ` · ${d.work.crop}`}{d.work.implement === '' ? '' : ` · ${d.work.implement}`}</p>
          <FiguresOf d={d} units={units} />
          <Products d={d} units={units} />
          <PastMap of={[d.work]} picked={null} onPick={() => undefined} small />
          <div class="choice" role="group" aria-label="What to do about it">
            {doings.map(([v, words]) => <button key={v} type="button" class="button plain" aria-pressed={doing === v} data-test={`past-do-${v}`} onClick={() => setDoing(doing === v ? null : v)}>{words}</button>)}
          </div>
          {d.work.join !== null && doing !== null && doing !== 'join' ? <p class="quiet">This is several operations that were joined: what is said here is about {d.work.session}, its first part. Open the others by their sessions.</p> : null}
          {doing === 'correct' ? <CorrectForm key={key} detail={d} onWritten={() => written('The correction is written.')} /> : null}
          {doing === 'split' ? <SplitForm key={key} detail={d} onWritten={() => written('It is split.')} /> : null}
          {doing === 'weighed' ? <WeighedForm key={key} detail={d} onWritten={() => written('The weighing is kept.')} /> : null}
          {doing === 'join' ? <JoinForm key={key} detail={d} onWritten={() => written('It is written.')} /> : null}
          {d.weighed.length === 0 ? null : <section aria-label="Weighed"><h3>Weighed</h3><WeighedList detail={d} onWritten={() => written('The record is scaled.')} /></section>}
          {session.value === null ? null : <Trail session={session.value} onWritten={() => written('It is taken back.')} />}
          <Said d={d} units={units} zone={zone} />
          {session.value !== null && session.value.operations.length > 1 ? (
            <Fold title={`All ${session.value.operations.length} operations of this session`} test="past-others">
              <ul class="past-list">
                {session.value.operations.map(({ work: w }) => (
                  <li key={w.operation}><button type="button" class="button plain" aria-current={w.operation === of.operation} onClick={() => onOpen({ session: w.session, operation: w.operation })}>{w.operation}. {w.field === '' ? 'Field without a name' : w.field}: {w.kind}, {minute(w.start, zone)}, {show(units, 'area', w.area.covered_m2)}</button></li>
                ))}
              </ul>
            </Fold>
          ) : null}
          <Fold title="Is the record complete?" test="past-complete"><Complete of={of} /></Fold>
        </>
      )}
    </div>
  )
}

function FiguresOf({ d, units }: { d: DetailOf; units: System }) {
  const { area } = d.work
  return (
    <div class="past-figures">
      <Card label="Covered" of={figure(units, 'area', area.covered_m2)} test="past-covered" note={area.field_m2 === null ? 'no boundary' : `of ${show(units, 'area', area.field_m2)}`} />
      <Card label="Overlap" of={figure(units, 'area', area.overlap_m2)} test="past-overlap" note={area.gross_m2 > 0 ? `${percent(area.overlap_m2 / area.gross_m2, 1)} of gross` : ''} />
      <Card label="Skipped" of={figure(units, 'patch', area.skip_m2)} test="past-skip" note={area.remaining_m2 === null ? '' : `left to do ${show(units, 'area', area.remaining_m2)}`} />
      <div class="card"><div class="label">Working time</div><span class="value" data-test="past-working">{hours(d.work.working_s)}</span><div class="note">{hours(d.work.field_time_s)} in the field</div></div>
      <Card label="Field capacity" of={d.work.capacity_m2_per_s === null ? null : fieldCapacity(units, d.work.capacity_m2_per_s)} test="past-capacity" note={d.work.efficiency === null ? '' : `efficiency ${percent(d.work.efficiency)}`} />
    </div>
  )
}

function Products({ d, units }: { d: DetailOf; units: System }) {
  return (
    <div class="wide-table">
      <table data-test="past-products">
        <thead><tr><th scope="col">Tank</th><th scope="col">Product</th><th scope="col">Amount</th><th scope="col">Mean rate</th><th scope="col">Target</th><th scope="col">On</th></tr></thead>
        <tbody>
          {d.tanks.length === 0 ? <tr><td colSpan={6}>No product is known.</td></tr> : d.tanks.map((t, i) => (
            <tr key={i} data-test={`past-product-${t.tank}`}>
              <td data-label="Tank">{t.tank}</td><th scope="row">{t.name === '' ? 'not stated' : t.name}</th><td data-label="Amount">{amount(units, t.unit, t.applied)}</td>
              <td data-label="Mean rate">{rate(units, t.unit, t.mean_rate_per_m2)}</td><td data-label="Target">{rate(units, t.unit, t.mean_target_per_m2)}</td><td data-label="On">{show(units, 'area', t.area_m2)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

/** Said is what was said during the operation, and what follows from the catalogue. */
function Said({ d, units, zone }: { d: DetailOf; units: System; zone: string }) {
  const rows: [string, string][] = []
  for (const p of d.people) rows.push([p.name === '' ? 'Nobody named' : p.name, `${show(units, 'area', p.gross_m2)}, ${hours(p.working_s)}`])
  for (const r of d.refills) rows.push([`Tank ${r.tank} ${r.amount === null ? 'looked into' : 'filled'}, ${minute(r.time, zone)}`, `${r.amount === null ? amount(units, r.unit, r.level) : amount(units, r.unit, r.amount)} ${r.product}${r.lot === '' ? '' : `, lot ${r.lot}`}${r.person === '' ? '' : `, ${r.person}`}`])
  for (const w of d.weather) {
    const of = [w.wind_mps === null ? '' : `wind ${show(units, 'speed', w.wind_mps)}`, w.wind_from_deg === null ? '' : `from ${Math.round(w.wind_from_deg)}°`, w.temperature_c === null ? '' : `${w.temperature_c} °C`, w.humidity_pct === null ? '' : `humidity ${w.humidity_pct} %`]
    rows.push([`Weather, ${minute(w.time, zone)}`, of.filter((t) => t !== '').join(', ')])
  }
  for (const n of d.notes) rows.push([`Note, ${moment(n.time, zone)}`, n.text])
  if (d.nutrients !== null) {
    const per = (name: string, v: number | null) => (v === null || v === 0 ? '' : `${name} ${show(units, 'mass_rate', v)}`)
    const of = [per('N', d.nutrients.n_kg_per_m2), per('P2O5', d.nutrients.p2o5_kg_per_m2), per('K2O', d.nutrients.k2o_kg_per_m2), per('S', d.nutrients.s_kg_per_m2)].filter((t) => t !== '')
    if (of.length > 0) rows.push(['Nutrients', of.join(', ')])
  }
  for (const c of d.costs) rows.push(['Cost of products', `${c.amount.toFixed(2)} ${c.currency}`])
  return rows.length === 0 ? null : (
    <section aria-label="Who, with what, when">
      <h3>Who, with what, when</h3>
      <dl class="pairs long" data-test="past-said">{rows.map(([label, text], i) => <div key={i}><dt>{label}</dt><dd>{text}</dd></div>)}</dl>
    </section>
  )
}

/** Undoing takes something back, with a reason. */
export function Undoing({ what, test, undo, onWritten }: { what: string; test: string; undo: (why: string) => Promise<import('../api').Answer<unknown>>; onWritten: () => void }) {
  const [open, setOpen] = useState(false)
  const [why, setWhy] = useState('')
  const action = useAction()
  if (!open) return <Act always test={test} label={what} onClick={() => setOpen(true)}>Take back</Act>
  return (
    <form class="row undoing" onSubmit={(e) => { e.preventDefault(); action.run(() => undo(why.trim()), () => { setOpen(false); setWhy(''); onWritten() }) }}>
      <label class="field wide">Why it is taken back<input value={why} data-test={`${test}-why`} onInput={(e) => setWhy(e.currentTarget.value)} /></label>
      <button type="submit" class="button primary" data-test={`${test}-yes`} disabled={why.trim() === '' || action.busy}>Take it back</button>
      <button type="button" class="button plain" onClick={() => setOpen(false)}>Keep it</button>
      <Fault text={action.error} />
    </form>
  )
}
