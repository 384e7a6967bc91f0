// A product made on the spot: name, kind, analysis, rate.

import { useState } from 'preact/hooks'
import { Act, Fault, useAction, useModel, useOffline, useUnsaved } from '../panel/common'
import { Chips, Quantity } from './common'
import { day, rateUnits, withNumber, type Quick } from './day'
import { labelCaution } from './words'

const kinds: readonly Quick['kind'][] = ['seed', 'seed treatment', 'granular', 'liquid', 'anhydrous', 'inoculant', 'crop protection']
const nutrients = [['n_pct', 'N %'], ['p2o5_pct', 'P2O5 %'], ['k2o_pct', 'K2O %'], ['s_pct', 'S %']] as const
const fertilisers: readonly string[] = ['granular', 'liquid', 'anhydrous']

export function QuickProduct({ tank, onDone }: { tank: number; onDone: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const [name, setName] = useState('')
  const [kind, setKind] = useState<Quick['kind']>('seed')
  const [analysis, setAnalysis] = useState<Record<string, string>>({})
  const [value, setValue] = useState('')
  const possible = rateUnits(units, kind)
  const [unit, setUnit] = useState(possible[0] ?? '')
  const [problem, setProblem] = useState<string | null>(null)
  const action = useAction()
  const offline = useOffline()
  const rate = value.trim() === '' ? undefined : withNumber(value, possible.includes(unit) ? unit : (possible[0] ?? ''))
  const numbers = nutrients.flatMap(([key]) => { const typed = analysis[key]?.trim().replace(',', '.') ?? ''; return typed === '' ? [] : [[key, Number(typed)] as const] })
  const wrong = name.trim() === '' || rate === null || numbers.some(([, v]) => !Number.isFinite(v))
  useUnsaved(name.trim() !== '')
  const make = () => action.run(() => day.quick({
    name: name.trim(), kind, tank, ...(rate == null ? {} : { rate }),
    ...(fertilisers.includes(kind) && numbers.length > 0 ? { analysis: Object.fromEntries(numbers) } : {}),
  }), (done) => { if (done.problem === null) onDone(); else setProblem(done.problem) })
  return (
    <section>
      <label class="field wide">Name<input type="text" autocomplete="off" maxLength={200} value={name} data-test="quick-name" onInput={(e) => setName(e.currentTarget.value)} /></label>
      <Chips legend="Kind" of={kinds} value={kind} test="quick-kind" onPick={setKind} />
      {fertilisers.includes(kind) ? (
        <div class="row columns">{nutrients.map(([key, label]) => <label key={key} class="field">{label}<input type="text" inputMode="decimal" autocomplete="off" value={analysis[key] ?? ''} data-test={`quick-${key}`} onInput={(e) => setAnalysis({ ...analysis, [key]: e.currentTarget.value })} /></label>)}</div>
      ) : null}
      <Quantity label="Target" value={value} unit={possible.includes(unit) ? unit : (possible[0] ?? '')} units={possible} test="quick-rate" onValue={setValue} onUnit={setUnit} />
      {kind === 'crop protection' || kind === 'seed treatment' ? <p class="quiet">Limits and intervals are entered under More. {labelCaution}</p> : null}
      <Act kind="primary" test="quick-say" disabled={action.busy || offline || wrong || problem !== null} onClick={make}>Make it and put it in tank {tank}</Act>
      <Fault text={action.error ?? problem} />
    </section>
  )
}
