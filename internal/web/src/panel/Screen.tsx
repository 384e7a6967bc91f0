// The screen as a whole.

import { useEffect, useRef, useState } from 'preact/hooks'
import { OfferBanner } from '../day/Offer'
import { ReadyButton } from '../day/Ready'
import { DaySheets } from '../day/Sheets'
import { wear } from '../look'
import { change, useLook, useSettings } from '../settings'
import { unlock } from '../sound'
import { ages, isOld } from '../store'
import { safety } from '../text/words'
import { LiveWord } from '../past/LiveWord'
import type { Outline } from '../wire'
import { DevicesSheet, Pairing } from './Access'
import { Alarms } from './Alarms'
import { Sheet, useModel, ViewerWord } from './common'
import { BoundaryPane, FieldSheet } from './Field'
import { Figures, OldBanner } from './Figures'
import { MapPane } from './MapPane'
import { MarkButton, Toasts } from './Marks'
import { entries, MoreSheet } from './More'
import { ReplayBar } from './Replay'

export function Screen({ again }: { again: () => void }) {
  const m = useModel()
  const look = useLook()
  const [open, setOpen] = useState<string | null>(null) // the key of a sheet
  const [boundary, setBoundary] = useState(false)
  const [preview, setPreview] = useState<Outline | null>(null)
  const [parked, setParked] = useState(false)
  const { sound } = useSettings()
  useEffect(() => wear(look, document.documentElement), [look])

  if (m.access?.role === 'none') return <Pairing onPaired={again} />
  const close = () => setOpen(null)
  const show = (key: string) => {
    setOpen(key === 'boundary' ? null : key)
    if (key === 'boundary') setBoundary(true)
  }
  const s = m.state
  const shown = s?.replay != null // a recorded session: nothing is said to it
  const title = s?.operation == null ? (s?.place.field ?? 'No work yet') : s.operation.field === '' ? 'Field without a name' : s.operation.field
  return (
    <>
      <div class="screen" inert={!parked}>
        <MapPane preview={preview} />
        <div class="notices">
          <OfferBanner onChange={(field) => setOpen(`begin:${field}`)} />
          <Alarms />
          {s?.operation != null && !s.operation.has_boundary && !shown && !boundary ? (
            <button type="button" class="button plain hint" data-test="no-boundary" onClick={() => setBoundary(true)}>No boundary yet: make one</button>
          ) : null}
        </div>
        <main class="panel">
          <header class="top">
            <div>
              <h1 data-test="field-name">{title}</h1>
              <p class="quiet" data-test="operation">{s?.operation?.operation ?? ''}<Recording /></p>
            </div>
            <LookButton />
          </header>
          <LiveWord />
          <OldBanner />
          {boundary && !shown ? <BoundaryPane onClose={() => setBoundary(false)} preview={setPreview} /> : (
<Figures onTank={shown ? null : (tank) => setOpen(`tank-${tank}`)} />)}
          <nav class="bottom" aria-label="Actions">
            {shown ? null : <><ViewerWord /><MarkButton /></>}
            <button type="button" class="button plain" data-test="open-field" onClick={() => setOpen('field')}>Field</button>
            {shown ? null : <button type="button" class="button plain" data-test="open-boundary" aria-pressed={boundary} onClick={() => setBoundary(!boundary)}>Boundary</button>}
            {shown ? null : <ReadyButton onOpen={() => setOpen('ready')} />}
            <button type="button" class="button plain" data-test="open-more" onClick={() => setOpen('more')}>More</button>
          </nav>
        </main>
        <ReplayBar />
        <Toasts />
      </div>
      {open === 'field' ? <FieldSheet onOpen={shown ? null : show} onClose={close} /> : null}
      {shown ? null : <DaySheets open={open} onOpen={show} onClose={close} />}
      {open === 'more' ? <MoreSheet replay={shown} onOpen={setOpen} onClose={() => setOpen((now) => (now === 'more' ? null : now))} /> : null}
      {entries.map((e) => (open === e.key ? <e.sheet key={e.key} onClose={close} /> : null))}
      {open === 'devices' ? <DevicesSheet onClose={close} /> : null}
      {open === 'settings' ? <SettingsSheet onClose={close} onDevices={m.access?.local === true ? () => setOpen('devices') : null} /> : null}
      {parked ? null : <Safety onDone={() => { if (sound) unlock(); setParked(true) }} />}
    </>
  )
}

/** Recording says whether the work is being kept. */
function Recording() {
  const m = useModel()
  const { state } = m
  if (state === null) return null
  if (isOld(ages(m).link)) return <span class="badge" data-test="recording">{state.replay !== null ? 'recorded session' : state.recording.recording ? 'was recording' : 'was not recording'}</span>
  if (state.replay !== null) return <span class="badge" data-test="recording">recorded session</span>
  return state.recording.recording
    ? <span class="badge good" data-test="recording">recording</span>
    : <span class="badge bad" data-test="recording">not recording</span>
}

function LookButton() {
  const look = useLook()
  return (
    <button type="button" class="button plain" data-test="look" onClick={() => change({ look: look === 'day' ? 'night' : 'day' })}>
      {look === 'day' ? 'Night' : 'Day'}
    </button>
  )
}

function Safety({ onDone }: { onDone: () => void }) {
  const button = useRef<HTMLButtonElement>(null)
  useEffect(() => button.current?.focus(), [])
  return (
    <div class="safety" role="dialog" aria-modal="true" aria-label="Safety" data-test="safety">
      <div>
        <p>{safety}</p>
        <button type="button" class="button primary" data-test="safety-ok" ref={button} onClick={onDone}>I have read this</button>
      </div>
    </div>
  )
}

function SettingsSheet({ onClose, onDevices }: { onClose: () => void; onDevices: (() => void) | null }) {
  const { look, markAt, sound } = useSettings()
  const { state } = useModel()
  return (
    <Sheet title="Settings" test="settings-sheet" onClose={onClose}>
      <fieldset class="choice">
        <legend>Look</legend>
        {(['auto', 'day', 'night'] as const).map((l) => <button key={l} type="button" class="button plain" aria-pressed={look === l} data-test={`look-${l}`} onClick={() => change({ look: l })}>{l === 'auto' ? 'As the device' : l === 'day' ? 'Day' : 'Night'}</button>)}
      </fieldset>
      <fieldset class="choice">
        <legend>Marks lie</legend>
        {(['bar', 'antenna'] as const).map((at) => <button key={at} type="button" class="button plain" aria-pressed={markAt === at} data-test={`mark-at-${at}`} onClick={() => change({ markAt: at })}>{at === 'bar' ? 'At the bar' : 'At the antenna'}</button>)}
      </fieldset>
      <fieldset class="choice">
        <legend>Sound with alarms</legend>
        <button type="button" class="button plain" aria-pressed={sound} data-test="sound" onClick={() => { if (!sound) unlock(); change({ sound: !sound }) }}>{sound ? 'On' : 'Off'}</button>
      </fieldset>
      <fieldset class="choice">
        <legend>Other devices</legend>
        {onDevices === null ? <p class="quiet">They are let in on the recorder’s own screen.</p> : <button type="button" class="button plain" data-test="open-devices" onClick={onDevices}>Devices</button>}
      </fieldset>
      <p class="quiet">Units ({state?.units ?? 'unknown'}) and time zone ({state?.timezone ?? 'unknown'}) are set in the configuration of the recorder.</p>
      <p class="quiet">drawbar {state?.version ?? ''} · <a href="/licences.txt" target="_blank" rel="noreferrer">licences of the parts of this screen</a></p>
    </Sheet>
  )
}
