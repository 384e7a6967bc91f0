// The bar of a replay: where it is, playing or not, and how fast.

import { useEffect, useRef, useState } from 'preact/hooks'
import { api } from '../api'
import { clock } from '../text/words'
import type { Replay } from '../wire'
import { Act, Fault, useAction, useModel } from './common'

const paces = [1, 2, 4, 8, 16, 32, 64]
const settleMs = 200

export function ReplayBar() {
  const { state } = useModel()
  return state?.replay == null ? null : <Bar replay={state.replay} zone={state.timezone} />
}

function Bar({ replay, zone }: { replay: Replay; zone: string }) {
  const action = useAction()
  const may = useModel().access?.role === 'operator'
  const [held, setHeld] = useState<number | null>(null)
  const timer = useRef(0)
  useEffect(() => () => clearTimeout(timer.current), [])
  const at = (t: string | null) => (t === null ? 0 : Date.parse(t))
  const [start, end] = [at(replay.start), at(replay.end)]
  const now = held ?? at(replay.at)
  const seek = (to: number) => {
    setHeld(to)
    clearTimeout(timer.current)
    timer.current = window.setTimeout(() => action.run(() => api.replay({ at: new Date(to).toISOString() }), () => setHeld(null)), settleMs)
  }
  const faster = paces.find((p) => p > replay.speed)
  const slower = [...paces].reverse().find((p) => p < replay.speed)
  return (
    <section class="replay" aria-label="Replay" data-test="replay">
      <Act always kind="primary" test="play" label={replay.playing ? 'Pause' : 'Play'} disabled={action.busy} onClick={() => action.run(() => api.replay({ playing: !replay.playing }))}>{replay.playing ? 'Pause' : 'Play'}</Act>
      <span class="time" data-test="replay-at">{clock(new Date(now).toISOString(), zone)}</span>
      <input
        type="range" min={start} max={end} step={1000} value={now} aria-label="Time in the session" aria-valuetext={clock(new Date(now).toISOString(), zone)}
        data-test="replay-slider" disabled={!may} onInput={(e) => seek(Number(e.currentTarget.value))}
      />
      <span class="time quiet">{clock(replay.end, zone)}</span>
      <Act always test="slower" label="Slower" disabled={slower === undefined || action.busy} onClick={() => { if (slower !== undefined) action.run(() => api.replay({ speed: slower })) }}>−</Act>
      <span class="time" data-test="replay-speed">{replay.speed}×</span>
      <Act always test="faster" label="Faster" disabled={faster === undefined || action.busy} onClick={() => { if (faster !== undefined) action.run(() => api.replay({ speed: faster })) }}>+</Act>
      <Fault text={action.error} />
    </section>
  )
}
