// What is wrong, worst first, with what to do; a touch acknowledges it.

import { useEffect, useRef } from 'preact/hooks'
import { api } from '../api'
import { alarmTitle, severityWord } from '../text/words'
import { useSettings } from '../settings'
import { beep } from '../sound'
import type { Alarm } from '../wire'
import { Act, Fault, useAction, useModel } from './common'

const id = (a: Alarm) => `${a.alarm} ${a.subject ?? ''}`

export function Alarms() {
  const alarms = useModel().state?.alarms ?? []
  const { sound } = useSettings()
  const action = useAction()
  const known = useRef(new Set<string>())
  const fresh = alarms.filter((a) => !a.seen)
  const names = fresh.map(id).join('\n')
  useEffect(() => {
    const loud = fresh.filter((a) => a.severity !== 'note' && !known.current.has(id(a)))
    known.current = new Set(fresh.map(id))
    if (sound && loud.length > 0) beep(loud.some((a) => a.severity === 'critical'))
  }, [names, sound])
  return (
    <section class="alarms" aria-label="Alarms">
      <div aria-live="assertive" data-test="alarms">
        {fresh.map((a) => (
          <div key={id(a)} class={`alarm is-${a.severity}`} data-test={`alarm-${a.alarm}`}>
            <div>
              <strong>{severityWord(a.severity)}: {alarmTitle(a)}</strong>
              <p>{a.text}</p>
            </div>
            <Act always test="alarm-seen" onClick={() => action.run(() => api.seen(a.alarm, a.subject))} label={`Seen: ${alarmTitle(a)}`}>Seen</Act>
          </div>
        ))}
      </div>
      {alarms.some((a) => a.seen) ? (
        <p class="still" data-test="alarms-seen">Still there: {alarms.filter((a) => a.seen).map(alarmTitle).join(' · ')}</p>
      ) : null}
      <Fault text={action.error} />
    </section>
  )
}
