// Past work: the recorded operations as a list and on a map, what they add up to, and
// each one with its corrections.

import './past.css'
import { useState } from 'preact/hooks'
import { Fault, Sheet, useEvery } from '../panel/common'
import { show } from '../units'
import { past, type By, type Filter, type Ref, type Work } from './calls'
import { Detail } from './Detail'
import { Choice, useAsked, useShown } from './parts'
import { PastMap } from './PastMap'
import { ProgressView } from './Progress'
import { TotalsView } from './Totals'
import { amount, day, minute } from './words'

type View = 'list' | 'map' | 'totals' | 'progress'

const views: readonly (readonly [View, string])[] = [['list', 'List'], ['map', 'Map'], ['totals', 'Totals'], ['progress', 'Progress']]
const pageOf = 100
const lookMs = 5000

export function PastSheet({ onClose }: { onClose: () => void }) {
  const [view, setView] = useState<View>('list')
  const [filter, setFilter] = useState<Filter>({})
  const [most, setMost] = useState(pageOf)
  const [open, setOpen] = useState<Ref | null>(null)
  const [picked, pick] = useState<Ref | null>(null)
  const list = useAsked(`${JSON.stringify(filter)} ${most}`, () => past.list(filter, 0, Math.min(most, 500)))
  const waiting = list.value?.waiting ?? 0
  useEvery(lookMs, async () => { if (waiting > 0) list.again() }) // sessions are still being worked out
  const drill = (by: By, key: string) => {
    setFilter({ ...filter, [by]: key === '' ? '-' : key })
    setView('list')
  }
  const works = list.value?.operations ?? []
  return (
    <Sheet title="Past work" test="past-sheet" onClose={onClose}>
      {open !== null ? <Detail key={`${open.session} ${open.operation}`} of={open} onBack={() => { setOpen(null); list.again() }} onOpen={setOpen} /> : (
        <>
          <Choice label="How it is shown" of={views} value={view} onChange={setView} test="past-view" />
          {view === 'progress' ? null : <Filters filter={filter} onChange={(f) => { setFilter(f); setMost(pageOf) }} />}
          <Fault text={list.error} />
          {waiting > 0 ? <p class="quiet" role="status">{waiting} {waiting === 1 ? 'session is' : 'sessions are'} still being worked out: there may be more.</p> : null}
          {list.value !== null && list.value.failed > 0 ? <p class="fault">{list.value.failed} cannot be worked out; the log of the recorder says why.</p> : null}
          {view === 'list' ? <List works={works} onOpen={setOpen} /> : null}
          {view === 'map' ? (
            <>
              <PastMap of={works} picked={picked} onPick={pick} />
              <Picked work={works.find((w) => w.session === picked?.session && w.operation === picked.operation) ?? null} onOpen={setOpen} />
            </>
          ) : null}
          {view === 'totals' ? <TotalsView filter={filter} onPick={drill} /> : null}
          {view === 'progress' ? <ProgressView onOpen={setOpen} /> : null}
          {(view === 'list' || view === 'map') && list.value !== null && list.value.total > works.length && most < 500 ? (
            <button type="button" class="button plain" data-test="past-more" onClick={() => setMost(most + pageOf)}>Show more, of {list.value.total}</button>
          ) : null}
        </>
      )}
    </Sheet>
  )
}

const filterWords: Record<keyof Filter, string> = { field: 'Field', crop: 'Crop', product: 'Product', person: 'Person', operation: 'Operation', season: 'Season', session: 'Session' }

/** Filters are what the work is picked by; touching one takes it away. */
function Filters({ filter, onChange }: { filter: Filter; onChange: (f: Filter) => void }) {
  const on = Object.entries(filter) as [keyof Filter, string][]
  if (on.length === 0) return null
  return (
    <div class="choice" role="group" aria-label="Picked by">
      {on.map(([k, v]) => (
        <button key={k} type="button" class="button plain" data-test={`filter-${k}`} aria-label={`${filterWords[k]} ${v === '-' ? 'not stated' : v}: show all again`} onClick={() => { const next = { ...filter }; delete next[k]; onChange(next) }}>
          {filterWords[k]}: {v === '-' ? 'not stated' : v} ✕
        </button>
      ))}
    </div>
  )
}

function List({ works, onOpen }: { works: readonly Work[]; onOpen: (of: Ref) => void }) {
  const { units, zone } = useShown()
  if (works.length === 0) return <p class="quiet" data-test="past-none">Nothing was recorded and finished yet: the work in hand is here once its session has ended.</p>
  const days = new Map<string, Work[]>()
  for (const w of works) {
    const d = day(w.start, zone)
    days.set(d, [...(days.get(d) ?? []), w])
  }
  return (
    <div data-test="past-list">
      {[...days].map(([d, of]) => (
        <section key={d} aria-label={d}>
          <h3>{d}</h3>
          <ul class="past-list">
            {of.map((w) => (
              <li key={`${w.session} ${w.operation}`}>
                <button type="button" class="button plain past-row" data-test="past-open" onClick={() => onOpen({ session: w.session, operation: w.operation })}>
                  <span class="past-what"><b>{w.field === '' ? 'Field without a name' : w.field}</b> {w.kind}{w.join === null ? '' : `, ${w.parts.length} joined`}</span>
                  <span class="past-how">{w.products.map((p) => `${p.name === '' ? 'product not stated' : p.name} ${amount(units, p.unit, p.applied)}`).join(' · ')}</span>
                  <span class="past-when">{minute(w.start, zone)}–{minute(w.end, zone)}</span>
                  <span class="past-area">{show(units, 'area', w.area.covered_m2)}</span>
                </button>
              </li>
            ))}
          </ul>
        </section>
      ))}
    </div>
  )
}

function Picked({ work: w, onOpen }: { work: Work | null; onOpen: (of: Ref) => void }) {
  const { units, zone } = useShown()
  if (w === null) return <p class="quiet">Touch an outline to see what it is.</p>
  return (
    <div class="row picked" data-test="past-picked">
      <span><b>{w.field === '' ? 'Field without a name' : w.field}</b> {w.kind}, {day(w.start, zone)}, {show(units, 'area', w.area.covered_m2)}</span>
      <button type="button" class="button primary" data-test="picked-open" onClick={() => onOpen({ session: w.session, operation: w.operation })}>Open</button>
    </div>
  )
}
