// Parts that the sheets of the day share.

import { useEffect, useState } from 'preact/hooks'
import { sentence } from '../text/words'
import { useEvery } from '../panel/common'
import { day, type Choices } from './day'
import './day.css'

/** useChoices is what there is to choose, anew now and then while shown; null before it came. */
export function useChoices(field: string | null, everyMs = 5000): { choices: Choices | null; error: string | null; again: () => void } {
  const [choices, set] = useState<Choices | null>(null)
  const [error, setError] = useState<string | null>(null)
  const ask = async () => {
    const answer = await day.choices(field)
    if (answer.ok) set(answer.value)
    setError(answer.ok ? null : answer.error)
  }
  useEffect(() => set(null), [field])
  useEvery(everyMs, ask)
  return { choices: choices !== null && (field === null || choices.field?.toLowerCase() === field.toLowerCase()) ? choices : null, error, again: () => void ask() }
}

/** Chips are a few things of which one holds; a touch on the one that holds lets go of it where that may be. */
export function Chips<T extends string>({ legend, of, value, test, onPick, label = (v) => v }: { legend: string; of: readonly T[]; value: T | null; test: string; onPick: (v: T) => void; label?: (v: T) => string }) {
  if (of.length === 0) return null
  return (
    <fieldset class="choice">
      <legend>{legend}</legend>
      {of.map((v) => <button key={v} type="button" class="button plain" aria-pressed={v === value} data-test={test} onClick={() => onPick(v)}>{label(v)}</button>)}
    </fieldset>
  )
}

/** Cautions stand where a limit or an interval is the matter. */
export function Cautions({ of }: { of: readonly string[] }) {
  return of.length === 0 ? null : <div class="cautions" role="alert" data-test="cautions">{of.map((c) => <p key={c}>{c}</p>)}</div>
}

export function Lacks({ of }: { of: readonly string[] }) {
  return of.length === 0 ? <p class="quiet" data-test="complete">The record will have all it needs.</p> : <p class="quiet" data-test="lacks">{sentence(`the record would still lack: ${of.join(', ')}.`)}</p>
}

/** A number with the choice of its unit. */
export function Quantity({ label, value, unit, units, test, onValue, onUnit }: { label: string; value: string; unit: string; units: readonly string[]; test: string; onValue: (v: string) => void; onUnit: (u: string) => void }) {
  const all = unit === '' || units.includes(unit) ? units : [unit, ...units]
  return (
    <div class="row">
      <label class="field">{label}<input type="text" inputMode="decimal" autocomplete="off" value={value} data-test={test} onInput={(e) => onValue(e.currentTarget.value)} /></label>
      {all.length === 1 ? <span class="unit-word">{all[0]}</span> : (
        <label class="field">Unit<select data-test={`${test}-unit`} value={unit} onChange={(e) => onUnit(e.currentTarget.value)}>{all.map((u) => <option key={u} value={u}>{u}</option>)}</select></label>
      )}
    </div>
  )
}
