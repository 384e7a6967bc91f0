// The marks of all sessions, by distance from the machine: notes, done or open, and
// hand-over to others.

import '../marks/marks.css'
import { useEffect, useRef, useState } from 'preact/hooks'
import { api } from '../api'
import { Act, Fault, Sheet, useAction, useEvery, useModel, useUnsaved, ViewerWord } from '../panel/common'
import type { KeptMark, KeptMarks } from '../wire'
import { kindWord, MarkRow } from './Row'
import { steady } from './steady'

type Which = 'open' | 'done' | 'all'

export function MarksSheet({ onClose }: { onClose: () => void }) {
  const { state } = useModel()
  const here = state?.operation?.field || state?.place.field || ''
  const [which, setWhich] = useState<Which>('open')
  const [field, setField] = useState<string | null>(null) // null: that of the machine, '' = all
  const [list, setList] = useState<KeptMarks | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const shownField = field ?? (list === null || list.fields.includes(here) ? here : '')
  const order = useRef<string[]>([]) // of the rows, so that none moves under a finger
  const nearest = () => { order.current = []; void ask() }
  const ask = async () => {
    const answer = await api.marks({ state: which, near: true, ...(shownField === '' ? {} : { field: shownField }) })
    if (answer.ok) {
      const marks = steady(order.current, answer.value.marks)
      order.current = marks.map((m) => m.id)
      setList({ ...answer.value, marks })
    }
    setFault(answer.ok ? null : answer.error)
  }
  useEvery(3000, ask)
  useEffect(nearest, [which, shownField])
  useEffect(() => { void ask() }, [state?.marks_revision])
  const file = (ending: string) => `/api/marks.${ending}?${new URLSearchParams({ state: which, ...(shownField === '' ? {} : { field: shownField }) }).toString()}`
  const fields = [...new Set([...(list?.fields ?? []), ...(here === '' ? [] : [here])])].sort()
  return (
    <Sheet title="Marks" test="marks-sheet" onClose={onClose}>
      <div class="row marks-choice">
        <div class="choice" role="group" aria-label="Which marks">
          {([['open', 'Open'], ['done', 'Done'], ['all', 'All']] as const).map(([s, label]) => <button key={s} type="button" class="button plain" aria-pressed={which === s} data-test={`marks-${s}`} onClick={() => setWhich(s)}>{label}</button>)}
        </div>
        <button type="button" class="button plain" data-test="marks-nearest" onClick={nearest}>Nearest first</button>
        <label class="field">Field
          <select value={shownField} data-test="marks-field" onChange={(e) => setField(e.currentTarget.value)}>
            <option value="">All fields</option>
            {fields.map((f) => <option key={f} value={f}>{f}{f === here ? ' (here)' : ''}</option>)}
          </select>
        </label>
      </div>
      <ViewerWord />
      {list !== null && list.machine === null ? <p class="quiet">How far they are is not known: there is no position of the machine.</p> : null}
      {list === null ? null : list.marks.length === 0 ? <p data-test="no-marks">No {which === 'all' ? '' : `${which} `}marks{shownField === '' ? '' : ` in ${shownField}`}.</p> : (
        <ul class="marks" data-test="marks-list">
          {list.marks.map((m) => <Item key={m.id} mark={m} list={list} field={shownField === ''} again={ask} />)}
        </ul>
      )}
      <Fault text={fault} />
      <section class="marks-over">
        <h3>Hand over</h3>
        <p class="quiet">The marks of this list as a file, for another receiver or map.</p>
        <div class="row">
          <a class="button plain" href={file('gpx')} download="marks.gpx" data-test="marks-gpx">GPX file</a>
          <a class="button plain" href={file('kml')} download="marks.kml" data-test="marks-kml">KML file</a>
        </div>
        <p class="quiet">For a second person: let the phone in under Settings, Devices as one that may tick marks; its page is this one’s address with /marks behind it. On it they are ticked off.</p>
      </section>
    </Sheet>
  )
}

function Item({ mark, list, field, again }: { mark: KeptMark; list: KeptMarks; field: boolean; again: () => Promise<void> }) {
  const action = useAction()
  const [note, setNote] = useState<{ text: string; revision: number } | null>(null)
  useUnsaved(note !== null && note.text !== mark.note)
  const away = mark.distance_m === null || mark.bearing_deg === null ? null : { m: mark.distance_m, deg: mark.bearing_deg }
  const done = mark.state === 'done'
  const name = `${kindWord(mark.kind)}${mark.note === '' ? '' : `, ${mark.note}`}`
  return (
    <MarkRow mark={mark} away={away} units={list.units} field={field}>
      {note === null ? (
        <>
          <Act test="mark-edit" label={`Note of ${name}`} disabled={action.busy} onClick={() => setNote({ text: mark.note, revision: mark.revision })}>Note</Act>
          <Act test="mark-done" kind={done ? 'plain' : 'primary'} label={`${done ? 'Open again' : 'Done'}: ${name}`} disabled={action.busy} onClick={() => action.run(() => api.changeMark(mark.id, { state: done ? 'open' : 'done' }), () => void again())}>{done ? 'Open again' : 'Done'}</Act>
        </>
      ) : (
        <form class="mark-form" onSubmit={(e) => { e.preventDefault(); action.run(() => api.changeMark(mark.id, { note: note.text, revision: note.revision }), () => { setNote(null); void again() }) }}>
          <label class="field">Note<textarea rows={2} maxLength={1000} value={note.text} data-test="mark-text" onInput={(e) => setNote({ ...note, text: e.currentTarget.value })} /></label>
          <div class="row">
            <button type="button" class="button plain" data-test="mark-cancel" onClick={() => setNote(null)}>Leave as it was</button>
            <button type="submit" class="button primary" data-test="mark-save" disabled={action.busy}>Save</button>
          </div>
          {mark.revision === note.revision ? null : <p class="fault" data-test="mark-changed">Another has changed this mark meanwhile; its note now: {mark.note === '' ? 'none' : `“${mark.note}”`}. <button type="button" class="button plain" onClick={() => setNote({ ...note, revision: mark.revision })}>Mine instead</button></p>}
        </form>
      )}
      <Fault text={action.error} />
    </MarkRow>
  )
}
