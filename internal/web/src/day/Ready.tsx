// What is missing or doubtful, each with the one step that settles it. Everything may
// be left as it is.

import { useState } from 'preact/hooks'
import type { Answer } from '../api'
import { severityWord } from '../text/words'
import { Act, Fault, Sheet, useAction, useEvery, ViewerWord } from '../panel/common'
import { day, type ReadyItem, type Step } from './day'
import './day.css'

// What a person has let be, by its text: what has changed since is shown again.
const left = new Set<string>()

const askEvery = 3000 // ms

function useReady(): { items: ReadyItem[] | null; error: string | null; again: () => void } {
  const [items, set] = useState<ReadyItem[] | null>(null)
  const [error, setError] = useState<string | null>(null)
  const ask = async () => {
    const answer = await day.ready()
    if (answer.ok) set(answer.value.items)
    setError(answer.ok ? null : answer.error)
  }
  useEvery(askEvery, ask)
  return { items, error, again: () => void ask() }
}

/** ReadyButton tells how much there is to settle. */
export function ReadyButton({ onOpen }: { onOpen: () => void }) {
  const { items } = useReady()
  const open = (items ?? []).filter((i) => !left.has(i.text))
  const grave = open.some((i) => i.severity === 'warning')
  return (
    <button type="button" class={`button plain ready${grave ? ' is-warning' : ''}`} data-test="open-ready" data-count={items === null ? undefined : open.length} onClick={onOpen}>
      {open.length === 0 ? 'Check' : `Check: ${open.length}`}
    </button>
  )
}

/** opens is the sheet that a step opens, null where it is said at once. */
export function opens(s: Step): string | null {
  switch (s.do) {
    case 'choose_field': return 'field'
    case 'draw_boundary': return 'boundary'
    case 'choose_implement': return 'implement'
    case 'choose_person': return 'person'
    case 'open_tank': return `tank-${s.tank ?? 1}`
    case 'open_arrivals': return 'arrivals'
    default: return null
  }
}

function said(s: Step): Promise<Answer<unknown>> {
  switch (s.do) {
    case 'begin': return day.begin({ field: s.field, boundary: true })
    case 'put_product': return day.put(s.tank ?? 1, { product: s.product, target: s.target })
    case 'set_target': return day.put(s.tank ?? 1, { target: s.target })
    default: return day.person(s.person ?? '')
  }
}

export function ReadySheet({ onOpen, onClose }: { onOpen: (key: string) => void; onClose: () => void }) {
  const { items, error, again } = useReady()
  const action = useAction()
  const [, redraw] = useState(0)
  const letBe = (i: ReadyItem) => { left.add(i.text); redraw((n) => n + 1) }
  const step = (i: ReadyItem) => {
    const key = opens(i.step)
    if (key !== null) onOpen(key)
    else if (i.step.do === 'see') letBe(i)
    else action.run(() => said(i.step), again)
  }
  const open = (items ?? []).filter((i) => !left.has(i.text))
  const be = (items ?? []).filter((i) => left.has(i.text))
  return (
    <Sheet title="Check" test="ready-sheet" onClose={onClose}>
      <ViewerWord />
      <p class="quiet">All of it may be left as it is: the work is recorded in any case.</p>
      {items !== null && open.length === 0 ? <p class="big" data-test="all-ready">Nothing is missing.</p> : null}
      <ul class="ready-list">
        {open.map((i) => (
          <li key={`${i.kind} ${i.subject ?? ''} ${i.text}`} class={`is-${i.severity}`} data-test={`ready-${i.kind}`}>
            <p><strong>{severityWord(i.severity)}.</strong> {i.text}</p>
            <div class="row">
              {opens(i.step) === null && i.step.do !== 'see'
                ? <Act kind="primary" test="settle" disabled={action.busy} onClick={() => step(i)}>{i.step.text}</Act>
                : <button type="button" class="button primary" data-test="settle" onClick={() => step(i)}>{i.step.text}</button>}
              {i.step.do === 'see' ? null : <button type="button" class="button plain" data-test="leave" onClick={() => letBe(i)}>Leave it</button>}
            </div>
          </li>
        ))}
      </ul>
      {be.length === 0 ? null : <p class="quiet" data-test="left">Left as it is: {be.map((i) => i.text).join(' ')} <button type="button" class="button plain" onClick={() => { left.clear(); redraw((n) => n + 1) }}>Show again</button></p>}
      <Fault text={action.error ?? error} />
    </Sheet>
  )
}
