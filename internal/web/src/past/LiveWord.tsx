// On the page of a past session: that the work now goes on beside it, and what is wrong
// there, so that looking back hides no alarm.

import './past.css'
import { useState } from 'preact/hooks'
import { base } from '../base'
import { useEvery } from '../panel/common'
import { alarmTitle } from '../text/words'
import type { State } from '../wire'

const everyMs = 2000

export function LiveWord() {
  return base === '' ? null : <Word />
}

function Word() {
  const [now, setNow] = useState<State | null>(null)
  const [lost, setLost] = useState(false)
  useEvery(everyMs, async () => {
    try {
      const response = await fetch('/api/state', { cache: 'no-store', signal: AbortSignal.timeout(5000) })
      if (!response.ok) throw new Error(String(response.status))
      setNow((await response.json()) as State)
      setLost(false)
    } catch {
      setLost(true)
    }
  })
  const alarms = now?.alarms ?? []
  const critical = lost || alarms.some((a) => a.severity === 'critical')
  const words = lost ? 'The recorder cannot be reached.' : alarms.length > 0 ? `Now: ${alarms.slice(0, 3).map(alarmTitle).join(', ')}` : now === null ? '' : now.recording.recording ? 'The work now is being recorded.' : 'Nothing is being recorded now.'
  return (
    <div class={critical ? 'live-word is-critical' : 'live-word'} data-test="live-word" role="status">
      <span>{words}</span>
      <a href="/" data-test="to-now">Back to the work now</a>
    </div>
  )
}
