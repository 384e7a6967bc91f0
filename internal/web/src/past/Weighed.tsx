// What was weighed beside what was metered: the difference, the record scaled to it, and
// what the controller's calibration figure comes to.

import { useState } from 'preact/hooks'
import { Act, Fault, useAction, useUnsaved } from '../panel/common'
import { amountUnits } from '../day/day'
import { past, type Calibration, type Detail, type Later } from './calls'
import { useSpan } from './Correct'
import { Input, Reason, Select, useAuthor, useShown } from './parts'
import { TrialPane, useTrial } from './Trial'
import { amount, minute, percent } from './words'

export function WeighedForm({ detail, onWritten }: { detail: Detail; onWritten: () => void }) {
  const { work } = detail
  const span = useSpan(work)
  const trial = useTrial(work.session)
  const [tank, setTank] = useState(String(detail.tanks[0]?.tank ?? 1))
  const { units } = useShown()
  const of = amountUnits(units, detail.tanks.find((t) => String(t.tank) === tank)?.unit ?? 'kg')
  const [unit, setUnit] = useState('')
  const [value, setValue] = useState('')
  const [ticket, setTicket] = useState('')
  const [why, setWhy] = useState('weighed')
  const [by, setBy] = useAuthor()
  const [wrong, setWrong] = useState<string | null>(null)
  useUnsaved(value.trim() !== '')
  const start = () => {
    const v = Number(value.trim().replace(',', '.'))
    const fault = value.trim() === '' || !(v > 0) ? 'Say what went out, by the scale.' : !span.ok ? 'The times need a from before a to.' : why.trim() === '' ? 'Say the reason.' : null
    setWrong(fault)
    if (fault !== null) return
    const symbol = of.includes(unit) ? unit : (of[0] ?? 'kg')
    trial.start({
      weighed: { tank: Number(tank), amount: `${v} ${symbol}`, ...(ticket.trim() === '' ? {} : { ticket: ticket.trim() }) },
      from: span.from, to: span.to, why: why.trim(), ...(by.trim() === '' ? {} : { by: by.trim() }),
    })
  }
  return (
    <section class="pane" data-test="weighed-form" aria-label="Weighed amount">
      <p class="quiet">What left the tank between the two times, by a scale or a delivery ticket: filled minus what came back.</p>
      <div class="row">
        <Select label="Tank" of={detail.tanks.map((t) => [String(t.tank), `${t.tank}: ${t.name}`] as const)} value={tank} onChange={setTank} test="weighed-tank" />
        <Input label="Weighed" type="number" value={value} onInput={setValue} test="weighed-amount" />
        <Select label="Unit" of={of.map((u) => [u, u] as const)} value={of.includes(unit) ? unit : (of[0] ?? 'kg')} onChange={setUnit} test="weighed-unit" />
        <Input label="Ticket" value={ticket} onInput={setTicket} test="ticket" />
      </div>
      {span.inputs}
      <Reason why={why} setWhy={setWhy} by={by} setBy={setBy} />
      <Fault text={wrong} />
      <div class="row"><Act always kind="primary" test="try-weighed" disabled={trial.busy} onClick={start}>Compare with what was metered</Act></div>
      <TrialPane of={trial} session={work.session} write="Keep the weighing" onWritten={onWritten} />
    </section>
  )
}

type Weighing = Detail['weighed'][number]

/** WeighedList is what was weighed, each with what follows from it. */
export function WeighedList({ detail, onWritten }: { detail: Detail; onWritten: () => void }) {
  return <>{detail.weighed.map((w, i) => <OneWeighing key={i} detail={detail} of={w} onWritten={onWritten} />)}</>
}

/** Smallest and largest factor that a correction takes. */
const [leastFactor, mostFactor] = [0.2, 5]

function OneWeighing({ detail, of: w, onWritten }: { detail: Detail; of: Weighing; onWritten: () => void }) {
  const { units: system, zone } = useShown()
  const trial = useTrial(detail.work.session)
  const [by] = useAuthor()
  const [figure, setFigure] = useState('')
  const [calibration, setCalibration] = useState<Calibration | null>(null)
  const action = useAction()
  const known = w.weighed !== null && w.metered !== null && w.metered > 0 && w.weighed > 0
  const factor = known ? (w.weighed ?? 0) / (w.metered ?? 1) : null
  const difference = known ? (w.weighed ?? 0) - (w.metered ?? 0) : null
  const scaled = w.applied !== null && w.weighed !== null && Math.abs(w.applied - w.weighed) <= 0.001 * w.weighed
  const scale = () => {
    if (factor === null) return
    const line: Later = {
      adjust: [{ tank: w.tank, factor: Number(factor.toPrecision(7)) }], from: w.from, to: w.to,
      why: `scaled to what was weighed${w.ticket === '' ? '' : `, ticket ${w.ticket}`}`, ...(by === '' ? {} : { by }),
    }
    trial.start(line)
  }
  return (
    <div class="pane" data-test="weighing">
      <h4>Tank {w.tank}, {minute(w.from, zone)} to {minute(w.to, zone)}{w.ticket === '' ? '' : `, ticket ${w.ticket}`}</h4>
      <dl class="pairs">
        <div><dt>Weighed</dt><dd>{amount(system, w.unit, w.weighed)}</dd></div>
        <div><dt>Metered</dt><dd>{amount(system, w.unit, w.metered)}</dd></div>
        <div><dt>Difference</dt><dd data-test="weighed-difference">{difference === null ? 'unknown' : `${difference >= 0 ? '+' : '−'}${amount(system, w.unit, Math.abs(difference))}, ${factor !== null && factor < 1 ? '−' : '+'}${percent(Math.abs((factor ?? 1) - 1), 1)}`}</dd></div>
        <div><dt>On the record</dt><dd data-test="weighed-applied">{amount(system, w.unit, w.applied)}</dd></div>
      </dl>
      {factor === null ? <p class="quiet">Nothing was metered in this time, so there is nothing to compare.</p> : scaled ? <p class="quiet" data-test="is-scaled">The record is scaled to what was weighed.</p> : factor < leastFactor || factor > mostFactor ? (
        <p class="fault">Weighed and metered are too far apart to scale one to the other: look at the times, the tank and the unit.</p>
      ) : (
        <div class="row"><Act always test="scale-record" disabled={trial.busy} onClick={scale}>Scale the record to it (× {factor.toFixed(4)})</Act></div>
      )}
      <TrialPane of={trial} session={detail.work.session} write="Scale it" onWritten={onWritten} />
      {factor === null ? null : (
        <form class="row" onSubmit={(e) => { e.preventDefault(); action.run(() => past.calibration(Number(figure.replace(',', '.')), w.weighed ?? 0, w.metered ?? 0), setCalibration) }}>
          <Input label="The controller’s calibration figure now" value={figure} onInput={(v) => { setFigure(v); setCalibration(null) }} test="calibration" />
          <button type="submit" class="button plain" data-test="calibrate" disabled={figure.trim() === '' || action.busy}>What it should be</button>
        </form>
      )}
      <Fault text={action.error} />
      {calibration === null ? null : (
        <div data-test="calibrated">
          <p><b>{calibration.amount_per_count.toPrecision(6)}</b> where the figure is an amount for each turn or pulse.</p>
          <p><b>{calibration.counts_per_amount.toPrecision(6)}</b> where it is the turns or pulses for one unit of amount.</p>
          <p class="quiet">Set it as the controller’s own manual says, and check it by a calibration test before work.</p>
        </div>
      )}
    </div>
  )
}
