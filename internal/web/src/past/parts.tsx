// Small parts of the sheet of past work.

import type { ComponentChildren } from 'preact'
import { useCallback, useEffect, useRef, useState } from 'preact/hooks'
import type { Answer } from '../api'
import { useModel } from '../panel/common'
import type { System } from '../units'

/** How numbers and times are shown. */
export function useShown(): { units: System; zone: string } {
  const { state } = useModel()
  return { units: state?.units ?? 'metric', zone: state?.timezone ?? 'UTC' }
}

/** useAsked asks at once and whenever a key changes; again() asks once more. What was there stays until the answer is. */
export function useAsked<T>(key: string, what: () => Promise<Answer<T>>): { value: T | null; error: string | null; asking: boolean; again(): void } {
  const [held, hold] = useState<{ value: T | null; error: string | null; asking: boolean }>({ value: null, error: null, asking: true })
  const [turn, setTurn] = useState(0)
  const latest = useRef(what)
  latest.current = what
  useEffect(() => {
    let gone = false
    hold((h) => ({ ...h, asking: true }))
    void latest.current().then((answer) => {
      if (!gone) hold((h) => (answer.ok ? { value: answer.value, error: null, asking: false } : { ...h, error: answer.error, asking: false }))
    })
    return () => { gone = true }
  }, [key, turn])
  const again = useCallback(() => setTurn((n) => n + 1), [])
  return { ...held, again }
}

const authorPlace = 'drawbar.author'

let author = ''
try { author = localStorage.getItem(authorPlace) ?? '' } catch { /* a private window */ }
const authors = new Set<() => void>()

/** useAuthor is who corrects: what was said last on this device. */
export function useAuthor(): [string, (name: string) => void] {
  const [, again] = useState(0)
  useEffect(() => {
    const l = () => again((n) => n + 1)
    authors.add(l)
    return () => { authors.delete(l) }
  }, [])
  return [author, (to) => {
    author = to
    try { localStorage.setItem(authorPlace, to) } catch { /* it holds until the page is closed */ }
    for (const l of authors) l()
  }]
}

/** A choice of which one is pressed. */
export function Choice<T extends string>({ label, of, value, onChange, test }: { label: string; of: readonly (readonly [T, string])[]; value: T; onChange: (v: T) => void; test: string }) {
  return (
    <div class="choice" role="group" aria-label={label}>
      {of.map(([v, words]) => <button key={v} type="button" class="button plain" aria-pressed={v === value} data-test={`${test}-${v}`} onClick={() => onChange(v)}>{words}</button>)}
    </div>
  )
}

/** A labelled input of a form. */
export function Input(p: { label: string; value: string; onInput: (v: string) => void; test: string; type?: 'text' | 'number' | 'datetime-local'; hint?: string; wide?: boolean; list?: readonly string[]; step?: number }) {
  return (
    <label class={p.wide === true ? 'field wide' : 'field'}>
      {p.label}
      <input
        type={p.type ?? 'text'} value={p.value} data-test={p.test} {...(p.step === undefined ? {} : { step: p.step })} {...(p.list === undefined ? {} : { list: `${p.test}-list` })}
        {...(p.type === 'number' ? { inputMode: 'decimal' as const, step: p.step ?? 'any' } : {})} onInput={(e) => p.onInput(e.currentTarget.value)}
      />
      {p.list === undefined ? null : <datalist id={`${p.test}-list`}>{p.list.map((v) => <option key={v} value={v} />)}</datalist>}
      {p.hint === undefined ? null : <span class="note">{p.hint}</span>}
    </label>
  )
}

export function Select<T extends string>({ label, of, value, onChange, test }: { label: string; of: readonly (readonly [T, string])[]; value: T; onChange: (v: T) => void; test: string }) {
  return (
    <label class="field">
      {label}
      <select value={value} data-test={test} onChange={(e) => onChange(e.currentTarget.value as T)}>
        {of.map(([v, words]) => <option key={v} value={v}>{words}</option>)}
      </select>
    </label>
  )
}

/** A part that is opened by its heading. */
export function Fold({ title, test, children, open = false }: { title: string; test: string; children: ComponentChildren; open?: boolean }) {
  const [shown, setShown] = useState(open)
  return (
    <section class="fold">
      <button type="button" class="button plain" aria-expanded={shown} data-test={test} onClick={() => setShown(!shown)}>{title}</button>
      {shown ? <div class="fold-body">{children}</div> : null}
    </section>
  )
}

/** Why and by whom: every correction has both. */
export function Reason({ why, setWhy, by, setBy }: { why: string; setWhy: (v: string) => void; by: string; setBy: (v: string) => void }) {
  return (
    <div class="row reason">
      <Input wide label="Reason" value={why} onInput={setWhy} test="why" hint="Needed: it is kept with the correction." />
      <Input label="Who says so" value={by} onInput={setBy} test="by" hint="A name or a role." />
    </div>
  )
}
