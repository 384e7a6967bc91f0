// The shapes that the daemon speaks: SI units, degrees WGS 84 with the longitude
// first, RFC 3339 times in UTC; null is not known, which is not zero.

export type Position = [lon: number, lat: number]

export interface State {
  version: string
  started: string | null
  time: string | null
  timezone: string
  units: 'metric' | 'us' | 'canadian'
  gnss: Gnss
  controller: { lines: number; reports: number; rejected: number; age_s: number | null }
  machine: Machine
  tanks: Tank[]
  operation: Operation | null
  totals: { working_s: number; working_distance_m: number; marks: number }
  recording: { session: string | null; recording: boolean; error: string | null }
  sources: Source[]
  alarms: Alarm[]
  tiles: { revision: number; work: number }
  place: { field: string | null; offer: Offer | null }
  replay: Replay | null
}

export interface Gnss {
  age_s: number | null
  quality: string | null
  lat_deg: number | null
  lon_deg: number | null
  speed_mps: number | null
  satellites: number | null
  hdop: number | null
  correction_age_s: number | null
}

export interface Machine {
  heading_deg: number | null
  implement_heading_deg: number | null
  /** section ends, left to right */
  bar: Position[]
  sections: SectionState[]
  antenna: Position | null
  sections_m: number[]
  operation_width_m: number | null
}

export type SectionState = 'unknown' | 'off' | 'on'

export interface Tank {
  tank: number
  product: string
  unit: string | null
  rate_per_m2: number | null
  target_per_m2: number | null
  level: number | null
  capacity: number | null
  area_left_m2: number | null
}

export interface Operation {
  number: number
  field: string
  operation: string
  has_boundary: boolean
  area: {
    field_m2: number | null
    gross_m2: number
    covered_m2: number
    overlap_m2: number
    skip_m2: number | null
    remaining_m2: number | null
    outside_m2: number | null
  }
  overlap_by: { headland_m2: number; between_passes_m2: number; sections_m2: number }
  skips: { open: number; largest: Skip[] } | null
  products: { tank: number; name: string; unit: string; applied: number | null; area_m2: number }[]
}

export interface Skip {
  lat_deg: number
  lon_deg: number
  area_m2: number
  width_m: number
  length_m: number
  state: string
}

export interface Source {
  name: string
  stream: string
  address: string
  up: boolean
  last_error: string | null
}

export interface Alarm {
  alarm: string
  subject: string | null
  severity: string
  text: string
  since: string | null
  seen: boolean
}

export interface Offer { field: string; inside: boolean; in_s: number | null }

export interface Replay { start: string | null; end: string | null; at: string | null; speed: number; playing: boolean }

/** Ground worked since the last such event, numbers first to last. */
export interface WorkEvent { first: number; last: number; pieces: WorkPiece[] }

export interface WorkPiece {
  operation: number
  corners: Position[]
  tanks: { tank: number; product: string; rate: number | null; target: number | null }[]
}

export type Role = 'operator' | 'viewer' | 'none'

export interface Access { role: Role; local: boolean; device: string | null }

export interface Device { id: string; name: string; role: Role; since: string | null; last_seen: string | null }

export interface PairingCode { code: string; role: Role; expires: string | null }

export interface Fields { fields: { name: string; area_m2: number | null; distance_m: number | null; current: boolean }[]; file: string | null }

export type Outline =
  | { type: 'Polygon'; coordinates: Position[][] }
  | { type: 'MultiPolygon'; coordinates: Position[][][] }
  | { type: 'LineString'; coordinates: Position[] }

export interface WorkOutline { boundary: Outline | null; area_m2: number | null; reason: string | null }

export type Edge = 'bar_left' | 'bar_right' | 'antenna'

export interface Drive {
  driving: boolean
  edge: Edge
  offset_m: number
  length_m: number
  gap_m: number | null
  boundary: Outline | null
  area_m2: number | null
  reason: string | null
}

export interface ArrivedLine { time: string | null; text: string; decoded: string; ok: boolean; reason: string | null }

export interface ArrivalSource {
  name: string
  stream: string
  address: string
  up: boolean
  rate_hz: number | null
  age_s: number | null
  words: string[]
  trouble: string[]
  lines: ArrivedLine[]
}

export interface Arrivals { sources: ArrivalSource[] }

/** A line profile as in the configuration's controller.line. */
export interface Profile {
  kind: 'keyvalue' | 'delimited' | 'pattern'
  separator?: string
  header?: boolean
  checksum?: string
  pattern?: string
  columns?: ProfileColumn[]
  units?: Record<string, string>
}

export interface ProfileColumn {
  column: string | number
  field: string
  tank?: number
  tank_from?: string
  unit?: string
  scale?: number
  offset?: number
  format?: string
  first?: string
}

export interface Trial { lines: ArrivedLine[]; reports: number; rejected: number; faults: Fault[]; yaml: string }

export interface Fault { member: string; got: string; want: string }
