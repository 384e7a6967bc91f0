// The page of a second person: marks by distance, ticked off. It works on a phone with
// a flaky link: what was ticked is kept until the recorder has taken it, and the page
// says what was not sent.

import { render } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { api } from '../api'
import { wear } from '../look'
import { Pairing } from '../panel/Access'
import { useEvery } from '../panel/common'
import { useLook, change } from '../settings'
import type { System } from '../units'
import type { Access, KeptMark, KeptMarks } from '../wire'
import { away, type Away } from './away'
import { forget, heard, recall, remember, settled, shown, tick, type Waiting } from './queue'
import { kindWord, MarkRow } from './Row'
import { useOwnPlace } from './place'
import { steady } from './steady'

const kept = recall()

function Page() {
  const look = useLook()
  useEffect(() => wear(look, document.documentElement), [look])
  const [access, setAccess] = useState<Access | null>(null)
  const [list, setList] = useState<KeptMarks | null>(null)
  const [marks, setMarks] = useState<KeptMark[]>(kept?.marks ?? [])
  const [waiting, setWaiting] = useState<Waiting>(kept?.waiting ?? {})
  const [at, setAt] = useState<number | null>(kept?.at ?? null) // when the list came
  const [fault, setFault] = useState<string | null>(null) // the link, in words
  const [gone, setGone] = useState<string | null>(null)
  const [which, setWhich] = useState<'open' | 'done'>('open')
  const [field, setField] = useState('')
  const [keeps, setKeeps] = useState(true)
  const own = useOwnPlace()
  const order = useRef<string[]>([]) // of the rows, so that none moves under a finger
  const [, sortAgain] = useState(0)
  const units = (list?.units ?? kept?.units ?? 'metric') as System

  const keep = (m: KeptMark[], w: Waiting, when: number) => setKeeps(remember({ marks: m, units, at: when, waiting: w }))

  /** what waits is sent first, so that the list which then comes has it */
  const round = async () => {
    const who = await api.access()
    if (who.ok) setAccess(who.value)
    if (who.ok && who.value.role === 'none') {
      forget() // it is let in no more, and what it saw is not its own
      setMarks([])
      setList(null)
      return
    }
    let left = waiting
    if (who.ok) {
      for (const [id, state] of Object.entries(waiting)) {
        const answer = await api.changeMark(id, { state })
        const status = answer.ok ? 200 : answer.status
        if (status === 404) setGone(`${kindWord(marks.find((m) => m.id === id)?.kind ?? 'a mark')}: it was withdrawn meanwhile, so nothing was ticked.`)
        left = settled(left, id, state, status)
        setWaiting((now) => settled(now, id, state, status))
        if (status === 0) break // the link is gone: the others wait too
      }
    }
    const answer = await api.marks({ state: 'all', near: true })
    if (!answer.ok) {
      setFault(answer.status === 0 ? 'The recorder is out of reach.' : answer.error)
      return
    }
    setFault(null)
    setList(answer.value)
    setMarks(answer.value.marks)
    const when = Date.now()
    setAt(when)
    setWaiting((now) => {
      const w = heard(now, answer.value.marks)
      keep(answer.value.marks, w, when)
      return w
    })
  }
  useEvery(4000, round)
  useEffect(() => {
    const again = () => { if (document.visibilityState === 'visible') void round() }
    window.addEventListener('online', again)
    return () => window.removeEventListener('online', again)
  })

  if (access?.role === 'none') return <Pairing onPaired={() => void round()} />
  const may = access === null || access.role === 'operator' || access.role === 'helper'
  const say = (m: KeptMark, state: 'open' | 'done') => {
    const original = marks.find((x) => x.id === m.id) ?? m
    const w = tick(waiting, original, state)
    setWaiting(w)
    keep(marks, w, at ?? 0)
    void round1(w, original.id, state)
  }
  /** one tick is sent at once; what fails waits for the round */
  const round1 = async (w: Waiting, id: string, state: 'open' | 'done') => {
    if (w[id] === undefined) return
    const answer = await api.changeMark(id, { state })
    if (!answer.ok) {
      if (answer.status === 0) setFault('The recorder is out of reach.')
      return
    }
    setMarks((all) => all.map((m) => (m.id === id ? { ...m, state: answer.value.state, settled: answer.value.settled, settled_by: answer.value.settled_by, revision: answer.value.revision } : m)))
    setWaiting((now) => settled(now, id, state, 200))
  }

  const all = shown(marks, waiting).map((m) => ({ m, far: farOf(m, own.at) }))
  const fields = [...new Set(marks.map((m) => m.field).filter((f): f is string => f !== null))].sort()
  const nearest = all.filter(({ m }) => m.state === which && (field === '' || m.field === field)).sort((x, y) => (x.far?.m ?? Infinity) - (y.far?.m ?? Infinity)).map(({ m, far }) => ({ id: m.id, m, far }))
  const seen = steady(order.current, nearest)
  order.current = seen.map(({ id }) => id)
  const unsent = Object.keys(waiting).length
  const count = (state: string) => all.filter(({ m }) => m.state === state && (field === '' || m.field === field)).length
  return (
    <main class="marks-page">
      <header class="top">
        <h1>Marks</h1>
        <button type="button" class="button plain" data-test="look" onClick={() => change({ look: look === 'day' ? 'night' : 'day' })}>{look === 'day' ? 'Night' : 'Day'}</button>
      </header>
      <p class="marks-caution" data-test="caution">Stay clear of machines at work: the driver may not see you. Agree with the driver before you walk into the field, and look at this only while standing.</p>
      <div role="status">
        {fault === null ? null : <p class="old-banner" data-test="marks-offline">{fault} {at === null ? 'There is no list yet.' : `This list is of ${clock(at)}.`} It is tried again and again.</p>}
        {unsent === 0 ? null : <p class="marks-unsent" data-test="marks-unsent">{unsent === 1 ? '1 tick is' : `${unsent} ticks are`} not sent yet. {keeps ? 'Kept on this phone and sent as soon as the recorder is in reach: keep this page open, or open it again then.' : 'This browser keeps nothing: leave this page open until they are sent.'}</p>}
        {gone === null ? null : <p class="old-banner" data-test="marks-gone">{gone} <button type="button" class="button plain" onClick={() => setGone(null)}>Seen</button></p>}
      </div>
      {may ? null : <p class="quiet" data-test="viewer-word">This device may look and not tick anything.</p>}
      <div class="row marks-choice">
        <div class="choice" role="group" aria-label="Which marks">
          <button type="button" class="button plain" aria-pressed={which === 'open'} data-test="marks-open" onClick={() => { order.current = []; setWhich('open') }}>Open ({count('open')})</button>
          <button type="button" class="button plain" aria-pressed={which === 'done'} data-test="marks-done" onClick={() => { order.current = []; setWhich('done') }}>Done ({count('done')})</button>
        </div>
        <button type="button" class="button plain" data-test="marks-nearest" onClick={() => { order.current = []; sortAgain((n) => n + 1) }}>Nearest first</button>
        {fields.length < 2 ? null : (
          <label class="field">Field
            <select value={field} data-test="marks-field" onChange={(e) => { order.current = []; setField(e.currentTarget.value) }}>
              <option value="">All fields</option>
              {fields.map((f) => <option key={f} value={f}>{f}</option>)}
            </select>
          </label>
        )}
      </div>
      <p class="quiet" data-test="marks-from">{fromWords(own, list, fault === null ? null : at)}</p>
      {at === null ? null : seen.length === 0 ? <p data-test="no-marks">No {which} marks.</p> : (
        <ul class="marks" data-test="marks-list">
          {seen.map(({ m, far }) => (
            <MarkRow key={m.id} mark={m} away={far} units={units} field={field === ''}>
              {waiting[m.id] === undefined ? null : <span class="marks-waits" data-test="mark-waits">not sent yet</span>}
              <button type="button" class={m.state === 'open' ? 'button primary' : 'button plain'} data-test="mark-done" disabled={!may} aria-label={`${m.state === 'open' ? 'Done' : 'Open again'}: ${kindWord(m.kind)}${m.note === '' ? '' : `, ${m.note}`}`} onClick={() => say(m, m.state === 'open' ? 'done' : 'open')}>{m.state === 'open' ? 'Done' : 'Open again'}</button>
            </MarkRow>
          ))}
        </ul>
      )}
      <section class="marks-over">
        <p class="quiet">For a map on this phone:</p>
        <div class="row">
          <a class="button plain" href="/api/marks.gpx" download="marks.gpx" data-test="marks-gpx">GPX file</a>
          <a class="button plain" href="/api/marks.kml" download="marks.kml" data-test="marks-kml">KML file</a>
        </div>
      </section>
    </main>
  )
}

function farOf(m: KeptMark, own: readonly [number, number] | null): Away | null {
  if (own !== null && m.lon_deg !== null && m.lat_deg !== null) return away(own, [m.lon_deg, m.lat_deg])
  return m.distance_m === null || m.bearing_deg === null ? null : { m: m.distance_m, deg: m.bearing_deg }
}

function fromWords(own: { at: readonly [number, number] | null; accuracyM: number | null }, list: KeptMarks | null, lost: number | null): string {
  if (own.at !== null) return `Distances are from this phone${own.accuracyM === null ? '' : `, right to about ${own.accuracyM.toFixed(0)} m`}. Arrows point as on a map, north up.`
  if (lost !== null) return `Distances are from where the machine was at ${clock(lost)}. Arrows point as on a map, north up.`
  if (list?.machine != null) {
    const age = list.machine.age_s
    return `Distances are from the machine${age === null || age < 10 ? '' : `, where it was ${age < 120 ? `${age.toFixed(0)} s` : `${(age / 60).toFixed(0)} min`} ago`}. Arrows point as on a map, north up.`
  }
  return 'How far they are is not known: neither this phone nor the machine tells where it is.'
}

const clock = (at: number): string => new Date(at).toLocaleString('en-GB', { weekday: 'short', hour: '2-digit', minute: '2-digit', second: '2-digit' })

const root = document.getElementById('marks')
if (root !== null) render(<Page />, root)

if ('serviceWorker' in navigator) {
  navigator.serviceWorker.register('/sw.js').catch(() => undefined) // without it the page works, but cannot be opened while the recorder is away
}
