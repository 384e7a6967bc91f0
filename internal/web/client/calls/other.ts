// A recorded session that is being shown, and a daemon whose receiver is not there.

import { until } from '../../browser/daemon.mjs'
import { answered, bad, refused, type Api } from '../witness'

/** shown steers a replay. */
export async function shown(api: Api) {
  refused(await api.POST('/api/replay', { body: bad({ speed: 'fast' }) }), 422, 'speed')
  refused(await api.POST('/api/replay', { body: { at: 'noon' } }), 422, 'at')
  const { replay } = answered(await api.GET('/api/state'))
  if (replay === null) throw new Error('no session is being shown')
  const { end } = replay
  if (end === null) throw new Error('the session that is shown has no end')
  answered(await api.POST('/api/replay', { body: { at: end, playing: false } }))
  refused(await api.POST('/api/operator', { body: { note: 'too late' } }), 409)
  await until(async () => answered(await api.GET('/api/state')).operation !== null, 'the end is shown')
}

/** alarmed sees an alarm. */
export async function alarmed(api: Api) {
  const alarm = await until(async () => answered(await api.GET('/api/alarms')).alarms[0] ?? null, 'an alarm is raised')
  refused(await api.POST('/api/alarms/seen', { body: bad({}) }), 422, 'alarm')
  refused(await api.POST('/api/alarms/seen', { body: { alarm: 'rain' } }), 404)
  answered(await api.POST('/api/alarms/seen', { body: { alarm: alarm.alarm, subject: alarm.subject } }))
  await until(async () => answered(await api.GET('/api/alarms')).alarms.every((a) => a.alarm !== alarm.alarm || a.subject !== alarm.subject || a.seen), 'the alarm is seen')
}
