// What arrives: each source's lines as they come and what they were read as, and a
// bench to try another line profile on the last minute.

import { useState } from 'preact/hooks'
import { api } from '../api'
import { howOld, sentence } from '../text/words'
import type { ArrivalSource, ArrivedLine } from '../wire'
import { Fault, Sheet, useEvery } from './common'
import { ProfileBench } from './Profile'

export function ArrivalsSheet({ onClose }: { onClose: () => void }) {
  const [sources, setSources] = useState<ArrivalSource[] | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const [held, setHeld] = useState(false)
  const [trying, setTrying] = useState(false)
  useEvery(1000, async () => {
    if (held || trying) return
    const answer = await api.arrivals()
    if (answer.ok) setSources(answer.value.sources)
    setFault(answer.ok ? null : answer.error)
  })
  return (
    <Sheet title="What arrives" test="arrivals-sheet" onClose={onClose}>
      <div class="choice" role="group" aria-label="View">
        <button type="button" class="button plain" aria-pressed={!trying} data-test="arrivals-lines" onClick={() => setTrying(false)}>Lines</button>
        <button type="button" class="button plain" aria-pressed={trying} data-test="arrivals-try" onClick={() => setTrying(true)}>Try another line profile</button>
        {trying ? null : <button type="button" class="button plain" aria-pressed={held} data-test="arrivals-hold" onClick={() => setHeld(!held)}>{held ? 'Go on' : 'Hold still'}</button>}
      </div>
      <Fault text={fault} />
      {trying ? <ProfileBench /> : (
        <div class="sources">
          {sources === null ? <p class="quiet">Asking …</p> : sources.length === 0 ? <p>No source is set up: see gnss.source and controller.source in the configuration.</p> : sources.map((s) => <SourceView key={s.name} source={s} />)}
        </div>
      )}
    </Sheet>
  )
}

function SourceView({ source: s }: { source: ArrivalSource }) {
  return (
    <section data-test={`source-${s.name}`}>
      <h3>{s.stream === 'gnss' ? 'Receiver' : s.stream === 'controller' ? 'Rate controller' : s.name}</h3>
      <p class="quiet">{s.address} · {s.up ? 'open' : 'not open'} · {s.rate_hz === null ? 'rate unknown' : `${s.rate_hz.toFixed(1)} lines a second`} · {s.age_s === null ? 'nothing arrived yet' : `last line ${s.age_s < 10 ? `${s.age_s.toFixed(1)} s` : howOld(s.age_s)} ago`}</p>
      {s.words.map((w) => <p key={w}>{sentence(w)}</p>)}
      {s.trouble.map((t) => <p key={t} class="fault" data-test="trouble">{sentence(t)}</p>)}
      <LineTable lines={s.lines.slice(-20).reverse()} caption={`Latest lines of ${s.name}, the newest first`} />
    </section>
  )
}

export function LineTable({ lines, caption }: { lines: ArrivedLine[]; caption: string }) {
  return (
    <div class="lines" tabIndex={0} role="region" aria-label={caption}>
      <table>
        <thead><tr><th scope="col">As it came</th><th scope="col">Read as</th></tr></thead>
        <tbody>
          {lines.map((l, i) => (
            <tr key={`${l.time ?? ''}${i}`} class={l.ok ? '' : 'bad'}>
              <td><code>{l.text}</code></td>
              <td>{l.ok ? l.decoded : <><strong>Not read:</strong> {l.reason ?? 'no reason given'}</>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}
