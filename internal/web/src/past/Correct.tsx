// A correction of one thing over a time.

import { useState } from 'preact/hooks'
import { Act, Fault, useUnsaved } from '../panel/common'
import { past, type Detail, type Later } from './calls'
import { Input, Reason, Select, useAsked, useAuthor, useShown } from './parts'
import { TrialPane, useTrial } from './Trial'
import { fromForm, spanOf, toForm } from './words'

type What = 'product' | 'rate' | 'lag' | 'width' | 'field' | 'operation' | 'person' | 'crop'

const whats: readonly (readonly [What, string])[] = [
  ['product', 'Product in a tank'], ['rate', 'What the amount goes by'], ['lag', 'Time from meter to ground'], ['width', 'Width of the implement'],
  ['field', 'Field'], ['operation', 'Operation'], ['person', 'Person'], ['crop', 'Crop'],
]
const kinds = [['seed', 'Seed'], ['granular', 'Granular'], ['liquid', 'Liquid'], ['anhydrous', 'Anhydrous'], ['inoculant', 'Inoculant'], ['seed_treatment', 'Seed treatment']] as const

/** number reads what a person typed, with a decimal comma too. */
const number = (text: string): number | null => {
  const v = Number(text.trim().replace(',', '.'))
  return text.trim() === '' || !Number.isFinite(v) ? null : v
}

/** Span is the times that a correction covers; empty where they are none. */
export function useSpan(work: { start: string | null; end: string | null }) {
  const whole = spanOf(work)
  const { zone } = useShown()
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone
  const [form, setForm] = useState({ from: whole === null ? '' : toForm(whole.from), to: whole === null ? '' : toForm(whole.to) })
  const [touched, touch] = useState({ from: false, to: false })
  // untouched, the times are those of the operation to the last digit
  const from = touched.from || whole === null ? fromForm(form.from) : whole.from
  const to = touched.to || whole === null ? fromForm(form.to) : whole.to
  const inputs = (
    <>
    <div class="row">
      <Input label="From" type="datetime-local" step={1} value={form.from} test="from" onInput={(v) => { setForm({ ...form, from: v }); touch({ ...touched, from: true }) }} />
      <Input label="To" type="datetime-local" step={1} value={form.to} test="to" onInput={(v) => { setForm({ ...form, to: v }); touch({ ...touched, to: true }) }} />
    </div>
    {own === zone ? null : <p class="quiet">These two times are of this device’s time zone, {own}.</p>}
    </>
  )
  return { from, to, inputs, ok: from !== null && to !== null && from < to }
}

export function CorrectForm({ detail, onWritten }: { detail: Detail; onWritten: () => void }) {
  const { work } = detail
  const { units } = useShown()
  const span = useSpan(work)
  const trial = useTrial(work.session)
  const [what, setWhat] = useState<What>('product')
  const [tank, setTank] = useState(String(detail.tanks[0]?.tank ?? 1))
  const [name, setName] = useState('')
  const [kind, setKind] = useState<(typeof kinds)[number][0]>('seed')
  const [target, setTarget] = useState('')
  const [basis, setBasis] = useState<'reported' | 'target' | 'flow' | 'fixed'>('target')
  const [value, setValue] = useState('')
  const [why, setWhy] = useState('')
  const [by, setBy] = useAuthor()
  const implement = useAsked(`${work.session} ${work.operation}`, () => past.implement({ session: work.session, operation: work.operation }))
  const [wrong, setWrong] = useState<string | null>(null)
  useUnsaved(name.trim() !== '' || why.trim() !== '')
  const choose = (to: What) => {
    trial.drop()
    setWhat(to)
    setWrong(null)
    const sections = implement.value?.implement['sections_m']
    setValue(to === 'width' && Array.isArray(sections) ? sections.join(', ') : to === 'field' ? work.field : to === 'operation' ? work.kind : to === 'crop' ? work.crop : to === 'person' ? (work.people[0] ?? '') : '')
  }

  /** statement is what the form states, or in words why it states nothing. */
  const statement = (): Record<string, unknown> | string => {
    const adjust = (of: Record<string, unknown>) => ({ adjust: [{ tank: Number(tank), ...of }] })
    switch (what) {
      case 'product': return name.trim() === '' ? 'Say the product.' : adjust({ product: { name: name.trim(), kind }, ...(target.trim() === '' ? {} : { target: target.trim() }) })
      case 'rate': return basis === 'fixed' ? (value.trim() === '' ? `Say the rate, such as ${units === 'metric' ? '112 kg/ha' : '100 lb/ac'}.` : adjust({ rate: value.trim() })) : adjust({ rate: basis })
      case 'lag': { const lag = number(value); return lag === null ? 'Say the time in seconds.' : adjust({ lag_s: lag }) }
      case 'width': {
        const sections = value.split(/[;\s]+|,\s+/).filter((t) => t !== '').map(number)
        if (implement.value === null || Object.keys(implement.value.implement).length === 0) return 'The implement of this operation is not known.'
        return sections.length === 0 || sections.includes(null) ? 'Say the width of each section in metres, such as 3, 3, 3, 3.' : { implement: { ...implement.value.implement, sections_m: sections } }
      }
      case 'person': return { person: value.trim() }
      default: return value.trim() === '' ? 'Say what it was.' : { [what]: value.trim() }
    }
  }
  const start = () => {
    const said = statement()
    const fault = typeof said === 'string' ? said : !span.ok ? 'The times need a from before a to.' : why.trim() === '' ? 'Say the reason: it is kept with the correction.' : null
    setWrong(fault)
    if (fault !== null || typeof said === 'string') return
    const line: Later = { ...said, from: span.from, to: span.to, why: why.trim(), ...(by.trim() === '' ? {} : { by: by.trim() }) }
    trial.start(line)
  }
  const tanks = (detail.tanks.length === 0 ? [{ tank: 1, name: '' }] : detail.tanks).map((t) => [String(t.tank), `${t.tank}${t.name === '' ? '' : `: ${t.name}`}`] as const)
  const ofTank = what === 'product' || what === 'rate' || what === 'lag'
  return (
    <section class="pane" data-test="correct-form" aria-label="Correct">
      <p class="quiet">The recording stays as it is. What is said here is kept beside it with its reason, and can be taken back.</p>
      <div class="row">
        <Select label="What was wrong" of={whats} value={what} onChange={choose} test="what" />
        {ofTank ? <Select label="Tank" of={tanks} value={tank} onChange={setTank} test="tank" /> : null}
        {what === 'product' ? (
          <>
            <Input label="Product that it was" value={name} onInput={setName} test="product" />
            <Select label="Kind" of={kinds} value={kind} onChange={setKind} test="kind" />
            <Input label="Target" value={target} onInput={setTarget} test="target" hint="Such as 150 kg/ha; empty: as it was." />
          </>
        ) : null}
        {what === 'rate' ? <Select label="The amount goes by" of={[['reported', 'The reported rate'], ['target', 'The target'], ['flow', 'The reported flow'], ['fixed', 'A rate entered here']] as const} value={basis} onChange={setBasis} test="basis" /> : null}
        {what === 'rate' && basis === 'fixed' ? <Input label="Rate" value={value} onInput={setValue} test="value" hint="Such as 112 kg/ha." /> : null}
        {what === 'lag' ? <Input label="Seconds" type="number" value={value} onInput={setValue} test="value" /> : null}
        {what === 'width' ? <Input wide label="Width of each section, metres, left to right" value={value} onInput={setValue} test="value" /> : null}
        {what === 'field' || what === 'operation' || what === 'crop' ? <Input label={whats.find(([w]) => w === what)?.[1] ?? ''} value={value} onInput={setValue} test="value" /> : null}
        {what === 'person' ? <Input label="Person" value={value} onInput={setValue} test="value" hint="Empty: nobody is named." /> : null}
      </div>
      {span.inputs}
      <Reason why={why} setWhy={setWhy} by={by} setBy={setBy} />
      <Fault text={wrong} />
      <div class="row"><Act always kind="primary" test="try-correction" disabled={trial.busy} onClick={start}>Show before and after</Act></div>
      <TrialPane of={trial} session={work.session} write="Write the correction" onWritten={onWritten} />
    </section>
  )
}

/** SplitForm makes two operations of one, from a moment on. */
export function SplitForm({ detail, onWritten }: { detail: Detail; onWritten: () => void }) {
  const { work } = detail
  const trial = useTrial(work.session)
  const span = spanOf(work)
  const [begin, end] = span === null ? [0, 0] : [Date.parse(span.from), Date.parse(span.to)]
  const [at, setAt] = useState((begin + end) / 2)
  const [name, setName] = useState(work.kind)
  const [why, setWhy] = useState('')
  const [by, setBy] = useAuthor()
  useUnsaved(why.trim() !== '')
  if (span === null) return <p class="fault">The times of this operation are not known, so it cannot be split.</p>
  const words = new Date(at).toLocaleTimeString('en-GB')
  return (
    <section class="pane" data-test="split-form" aria-label="Split">
      <label class="field wide">From this moment on it was an operation of its own: {words}
        <input type="range" class="split" min={begin} max={end} step={1000} value={at} aria-valuetext={words} data-test="split-at" onInput={(e) => { trial.drop(); setAt(Number(e.currentTarget.value)) }} />
      </label>
      <Input label="The second operation" value={name} onInput={setName} test="split-name" />
      <Reason why={why} setWhy={setWhy} by={by} setBy={setBy} />
      <div class="row">
        <Act
          always kind="primary" test="try-split" disabled={trial.busy || why.trim() === '' || name.trim() === ''}
          onClick={() => trial.start({ operation: name.trim(), from: new Date(at).toISOString(), to: span.to, why: why.trim(), ...(by.trim() === '' ? {} : { by: by.trim() }) })}
        >Show before and after</Act>
      </div>
      <TrialPane of={trial} session={work.session} write="Split it" onWritten={onWritten} />
    </section>
  )
}
