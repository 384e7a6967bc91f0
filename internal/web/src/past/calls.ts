// What is asked and said about recorded work.

import type { FeatureCollection } from 'geojson'
import { get, post } from '../api'
import type { components } from '../api.gen'

type Schemas = components['schemas']
export type Work = Schemas['Work']
export type Detail = Schemas['WorkDetail']
export type Session = Schemas['PastSession']
export type Corrected = Schemas['Corrected']
export type Group = Schemas['Group']
export type Totals = Schemas['TotalsList']
export type Progress = Schemas['Progress']
export type CompleteList = Schemas['CompleteList']
export type Trial = Schemas['TrialFigures']
export type Mended = Schemas['MendedOperation']
export type Weighed = Schemas['WeighedShare']
export type Calibration = Schemas['Calibration']
export type By = Totals['by']

/** One operation by its session and its number there. */
export interface Ref { session: string; operation: number }

/** How recorded work is picked; '-' is of what was not stated. */
export interface Filter { field?: string; crop?: string; product?: string; person?: string; operation?: string; season?: string; session?: string }

/** A correction, or the taking back of one, as it is sent. */
export type Later = Record<string, unknown> & { why: string }

const query = (of: Record<string, string | number | undefined>) =>
  Object.entries(of).filter(([, v]) => v !== undefined && v !== '').map(([k, v]) => `${k}=${encodeURIComponent(String(v))}`).join('&')
const at = (session: string) => `/api/work/${encodeURIComponent(session)}`

export const past = {
  list: (filter: Filter, offset: number, limit: number) => get<Schemas['WorkList']>(`/api/work?${query({ ...filter, offset, limit })}`),
  session: (session: string) => get<Session>(at(session)),
  record: ({ session, operation }: Ref) => get<Detail>(`${at(session)}/${operation}/record`),
  complete: ({ session, operation }: Ref) => get<CompleteList>(`${at(session)}/${operation}/complete`),
  implement: ({ session, operation }: Ref) => get<{ implement: Record<string, unknown> }>(`${at(session)}/${operation}/implement`),
  ground: ({ session, operation }: Ref) => get<FeatureCollection>(`${at(session)}/ground?operation=${operation}`),
  totals: (by: By, filter: Filter) => get<Totals>(`/api/totals?${query({ by, ...filter })}`),
  progress: (season: string) => get<Progress>(`/api/progress?${query({ season })}`),

  try: (session: string, line: Later) => post<{ preview: string }>(`${at(session)}/corrections/preview`, line),
  trial: (id: string) => get<Trial>(`/api/previews/${encodeURIComponent(id)}`),
  correct: (session: string, line: Later) => post<{ number: number }>(`${at(session)}/corrections`, line),
  undo: (session: string, number: number, why: string, by: string) => post<{ number: number }>(`${at(session)}/corrections/${number}/undo`, { why, ...(by === '' ? {} : { by }) }),
  calibration: (figure: number, weighed: number, metered: number) => get<Calibration>(`/api/calibration?${query({ figure, weighed, metered })}`),
  join: (parts: readonly Work[], why: string, by: string) => post<{ number: number }>('/api/joins', {
    join: parts.map((w) => ({ session: w.session, at: w.start })), why, ...(by === '' ? {} : { by }),
  }),
  undoJoin: (number: number, why: string, by: string) => post<{ number: number }>(`/api/joins/${number}/undo`, { why, ...(by === '' ? {} : { by }) }),
}
