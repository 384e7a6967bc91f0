// Fields and boundaries: choose a field, take the outline of the work as its
// boundary, or drive one.

import { useEffect, useState } from 'preact/hooks'
import { api } from '../api'
import { sentence } from '../text/words'
import { show } from '../units'
import type { Drive, Edge, Fields, Outline, WorkOutline } from '../wire'
import { Act, Fault, Sheet, useAction, useEvery, useModel, ViewerWord } from './common'

export function FieldSheet({ onOpen, onClose }: { onOpen: ((key: string) => void) | null; onClose: () => void }) {
  const { state } = useModel()
  return (
    <Sheet title="Field" test="field-sheet" onClose={onClose}>
      <ViewerWord />
      <p class="big">{state?.operation == null ? 'No work yet.' : `Working in ${state.operation.field === '' ? 'a field without a name' : state.operation.field}${state.operation.has_boundary ? '' : ', which has no boundary'}.`}</p>
      {onOpen === null ? null : (
        <div class="row">
          <button type="button" class="button plain" data-test="open-begin" onClick={() => onOpen('begin')}>What is done here</button>
          <button type="button" class="button plain" data-test="open-person" onClick={() => onOpen('person')}>Who works</button>
          <button type="button" class="button plain" data-test="open-implement" onClick={() => onOpen('implement')}>Implement</button>
        </div>
      )}
      <FieldList onDone={onClose} />
    </Sheet>
  )
}

function FieldList({ onDone }: { onDone: () => void }) {
  const { state } = useModel()
  const units = state?.units ?? 'metric'
  const [fields, setFields] = useState<Fields | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const action = useAction()
  useEvery(5000, async () => {
    const answer = await api.fields()
    if (answer.ok) setFields(answer.value)
    setFault(answer.ok ? null : answer.error)
  })
  return (
    <section>
      <h3>{fields?.fields.some((f) => f.distance_m !== null) === true ? 'Known fields, nearest first' : 'Known fields'}</h3>
      {fields !== null && fields.fields.length === 0 ? <p class="quiet">None are known. Give the recorder a file of fields, or drive a boundary.</p> : null}
      <ul class="list">
        {(fields?.fields ?? []).map((f) => (
          <li key={f.name}>
            <span>{f.name}<span class="note"> {f.area_m2 === null ? '' : show(units, 'area', f.area_m2)}{f.distance_m === null ? '' : f.distance_m <= 0 ? ', you are in it' : `, ${show(units, 'distance', f.distance_m)} away`}</span></span>
            {f.current ? <strong>in hand</strong> : <Act test="choose-field" label={`Work here: ${f.name}`} disabled={action.busy} onClick={() => action.run(() => api.acceptField(f.name), onDone)}>Work here</Act>}
          </li>
        ))}
      </ul>
      <Fault text={fault ?? action.error} />
    </section>
  )
}

const edges: [Edge, string][] = [['bar_left', 'Left end of the bar'], ['antenna', 'Antenna'], ['bar_right', 'Right end of the bar']]

/** BoundaryPane stands beside the map, so that the outline is seen on it. */
export function BoundaryPane({ onClose, preview }: { onClose: () => void; preview: (o: Outline | null) => void }) {
  const [way, setWay] = useState<'work' | 'drive'>('work')
  useEffect(() => () => preview(null), [preview])
  return (
    <section class="pane" aria-label="Boundary" data-test="boundary-pane">
      <header><h2>Boundary</h2><button type="button" class="button plain" data-test="close-boundary" onClick={onClose}>Close</button></header>
      <ViewerWord />
      <div class="choice" role="group" aria-label="How">
        <button type="button" class="button plain" aria-pressed={way === 'work'} data-test="boundary-work" onClick={() => { preview(null); setWay('work') }}>Outline of the work</button>
        <button type="button" class="button plain" aria-pressed={way === 'drive'} data-test="boundary-drive" onClick={() => { preview(null); setWay('drive') }}>Drive it</button>
      </div>
      {way === 'work' ? <FromWork preview={preview} onClose={onClose} /> : <Driving preview={preview} onClose={onClose} />}
    </section>
  )
}

function FromWork({ preview, onClose }: { preview: (o: Outline | null) => void; onClose: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const [outline, setOutline] = useState<WorkOutline | null>(null)
  const action = useAction()
  const look = () => action.run(api.outlineOfWork, (o) => { setOutline(o); preview(o.boundary) })
  useEffect(look, [])
  const boundary = outline?.boundary ?? null
  return (
    <>
      <p>Where the headland is done, the outline of the work so far can be the boundary.</p>
      {outline === null ? null : boundary === null ? <p data-test="outline-reason">{sentence(outline.reason ?? 'there is no outline yet')}</p> : <p class="big" data-test="outline-area">{show(units, 'area', outline.area_m2)} <span class="note">shown on the map</span></p>}
      <div class="row">
        <button type="button" class="button plain" data-test="look-again" disabled={action.busy} onClick={look}>Look again</button>
        <Act kind="primary" test="accept-outline" disabled={boundary === null || action.busy} onClick={() => { if (boundary !== null) action.run(() => api.acceptBoundary(boundary), onClose) }}>Take it as the boundary</Act>
      </div>
      <Fault text={action.error} />
    </>
  )
}

function Driving({ preview, onClose }: { preview: (o: Outline | null) => void; onClose: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const [drive, setDrive] = useState<Drive | null>(null)
  const [edge, setEdge] = useState<Edge>('bar_right')
  const [offset, setOffset] = useState('0')
  const action = useAction()
  const take = (d: Drive) => { setDrive(d); preview(d.boundary) }
  const ask = async () => {
    const answer = await api.drive()
    if (answer.ok) take(answer.value)
  }
  useEvery(1000, ask)
  const foot = units === 'metric' ? 1 : 0.3048
  const offsetM = Number(offset.replace(',', '.')) * foot
  const after = () => void ask()
  const boundary = drive?.boundary ?? null
  if (drive?.driving !== true) {
    return (
      <>
        {boundary !== null ? (
          <>
            <p class="big" data-test="driven-area">{show(units, 'area', drive?.area_m2)} <span class="note">driven, shown on the map</span></p>
            <div class="row">
              <Act kind="primary" test="accept-drive" disabled={action.busy} onClick={() => action.run(() => api.acceptBoundary(boundary), onClose)}>Take it as the boundary</Act>
              <Act test="discard-drive" disabled={action.busy} onClick={() => action.run(api.cancelDrive, after)}>Throw it away</Act>
            </div>
          </>
        ) : <p>Drive once round the field. Choose which part of the machine follows the edge, then start. {sentence(drive?.reason ?? '')}</p>}
        <div class="choice" role="group" aria-label="What follows the edge">
          {edges.map(([e, label]) => <button key={e} type="button" class="button plain" aria-pressed={edge === e} data-test={`edge-${e}`} onClick={() => setEdge(e)}>{label}</button>)}
        </div>
        <label class="field">How far outside it the boundary lies, {units === 'metric' ? 'm' : 'ft'}
          <input type="text" inputMode="decimal" value={offset} data-test="drive-offset" onInput={(e) => setOffset(e.currentTarget.value)} />
        </label>
        <Act kind={boundary === null ? 'primary' : 'plain'} test="start-drive" disabled={action.busy || !Number.isFinite(offsetM)} onClick={() => action.run(() => api.startDrive(edge, offsetM), take)}>Start here</Act>
        <Fault text={action.error} />
      </>
    )
  }
  return (
    <>
      <p class="big" data-test="driving">Driving: {show(units, drive.length_m < 1000 ? 'length' : 'distance', drive.length_m)}{drive.gap_m === null ? null : <span class="note"> {show(units, 'length', drive.gap_m)} to the start</span>}</p>
      <p>{drive.reason !== null ? sentence(drive.reason) : (drive.area_m2 === null ? '' : `Closed now it would hold ${show(units, 'area', drive.area_m2)}.`)}</p>
      <div class="row">
        <Act kind="primary" test="stop-drive" disabled={action.busy} onClick={() => action.run(api.stopDrive, take)}>Stop and close it</Act>
        <Act kind="danger" test="cancel-drive" disabled={action.busy} onClick={() => action.run(api.cancelDrive, after)}>Give up</Act>
      </div>
      <Fault text={action.error} />
    </>
  )
}
