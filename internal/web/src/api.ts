// What is asked of the daemon and said to it. Every call gives an Answer: the value,
// or what went wrong in words for a person.

import { placed } from './base'
import type { Access, Arrivals, Device, Drive, Edge, Fault, Fields, GivenRole, KeptMark, KeptMarks, MarkChange, Outline, PairingCode, Profile, Recorded, Role, State, Steer, Trial, WorkOutline } from './wire'

export type Answer<T> = { ok: true; value: T } | { ok: false; status: number; error: string; faults: Fault[]; body?: unknown }

const patience = 10_000 // ms

/** call asks the daemon; body of an answer that is no success is what it sent. */
export async function call<T>(method: string, path: string, body?: unknown): Promise<Answer<T>> {
  let response: Response
  try {
    response = await fetch(placed(path), {
      method,
      cache: 'no-store',
      signal: AbortSignal.timeout(patience),
      ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } }),
    })
  } catch {
    return { ok: false, status: 0, error: 'There is no connection to the recorder. Nothing was sent; try again when it is back.', faults: [] }
  }
  let read: unknown = null
  try {
    read = await response.json()
  } catch {
    // an answer without a body
  }
  if (response.ok) return { ok: true, value: read as T }
  const { error, faults } = (read ?? {}) as { error?: string; faults?: Fault[] }
  return { ok: false, status: response.status, error: error ?? `The recorder answered with ${response.status}.`, faults: faults ?? [], body: read }
}

/** get and post ask the daemon, from any part of the page. */
export const get = <T>(path: string) => call<T>('GET', path)
export const post = <T>(path: string, body: unknown) => call<T>('POST', path, body)

export const api = {
  state: () => get<State>('/api/state'),
  access: () => get<Access>('/api/access'),
  pair: (code: string, name: string) => post<{ role: Role }>('/api/access/pair', { code, name }),
  devices: () => get<{ devices: Device[] }>('/api/access/devices'),
  setRole: (id: string, role: GivenRole) => post<unknown>(`/api/access/devices/${encodeURIComponent(id)}`, { role }),
  revoke: (id: string) => call<unknown>('DELETE', `/api/access/devices/${encodeURIComponent(id)}`),
  code: () => get<PairingCode>('/api/access/code'),
  newCode: (role: GivenRole) => post<PairingCode>('/api/access/code', { role }),

  mark: (kind: string, at: 'bar' | 'antenna' | [number, number]) => post<Recorded>('/api/operator', { mark: { kind, at } }),
  undoMark: (number: number) => post<Recorded>('/api/operator', { mark: { undo: number } }),
  marks: (o: { state?: 'open' | 'done' | 'all'; field?: string; near?: boolean }) => get<KeptMarks>(`/api/marks?${new URLSearchParams(Object.entries(o).map(([k, v]) => [k, String(v)])).toString()}`),
  changeMark: (id: string, change: MarkChange) => post<KeptMark>(`/api/marks/${encodeURIComponent(id)}`, change),
  acceptBoundary: (boundary: Outline) => post<Recorded>('/api/operator', { boundary }),
  acceptField: (field: string) => post<unknown>('/api/fields/accept', { field }),
  fields: () => get<Fields>('/api/fields'),
  outlineOfWork: () => get<WorkOutline>('/api/boundary/work'),
  drive: () => get<Drive>('/api/boundary/drive'),
  startDrive: (edge: Edge, offset_m: number) => post<Drive>('/api/boundary/drive', { action: 'start', edge, offset_m }),
  stopDrive: () => post<Drive>('/api/boundary/drive', { action: 'stop' }),
  cancelDrive: () => post<Drive>('/api/boundary/drive', { action: 'cancel' }),

  seen: (alarm: string, subject: string | null) => post<unknown>('/api/alarms/seen', { alarm, subject }),
  arrivals: () => get<Arrivals>('/api/arrivals'),
  tryProfile: (line: Profile) => post<Trial>('/api/arrivals/try', { line }),
  replay: (what: Steer) => post<unknown>('/api/replay', what),
}
