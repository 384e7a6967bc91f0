// The shapes that the daemon speaks, as generated from its description (npm run
// types): SI units, degrees WGS 84 with the longitude first, RFC 3339 times in UTC;
// null is not known, which is not zero. What the description can say only as a list of
// numbers is a Position here.

import type { components } from './api.gen'

type Schemas = components['schemas']

/** With members of their own types in place of those of the description. */
type With<T, Own> = Omit<T, keyof Own> & Own

export type Position = [lon: number, lat: number]

export type Machine = With<Schemas['Machine'], { antenna: Position | null; bar: Position[] }>
export type State = With<Schemas['State'], { machine: Machine }>
export type SectionState = Machine['sections'][number]
export type Tank = Schemas['Tank']
export type Operation = Schemas['Operation']
export type OverlapBy = Schemas['OverlapBy']
export type Alarm = Schemas['Alarm']
export type Offer = Schemas['Offer']
export type Replay = Schemas['Replay']

/** Ground worked since the last such event, numbers first to last. */
export type WorkPiece = With<Schemas['Piece'], { corners: Position[] }>
export type WorkEvent = With<Schemas['WorkEvent'], { pieces: WorkPiece[] }>
export type Redraw = Schemas['Redraw']

export type Access = Schemas['Access']
export type Role = Access['role']
/** What a device may be given. */
export type GivenRole = Exclude<Role, 'none'>
export type Device = Schemas['Device']
export type PairingCode = Schemas['Code']

export type Fields = Schemas['Fields']
export type Outline =
  | { type: 'Polygon'; coordinates: Position[][] }
  | { type: 'MultiPolygon'; coordinates: Position[][][] }
  | { type: 'LineString'; coordinates: Position[] }
export type WorkOutline = With<Schemas['WorkOutline'], { boundary: Outline | null }>
export type Drive = With<Schemas['Drive'], { boundary: Outline | null }>
export type Edge = Drive['edge']

export type Arrivals = Schemas['Arrivals']
export type ArrivalSource = Schemas['Arrived']
export type ArrivedLine = Schemas['Line']
/** A line profile as in the configuration's controller.line. */
export type Profile = Schemas['Profile']
export type ProfileColumn = Schemas['Column']
export type Trial = Schemas['Trial']

export type Recorded = Schemas['Recorded']
/** A mark of whichever session. */
export type KeptMark = Schemas['KeptMark']
export type KeptMarks = Schemas['Marks']
export type MarkChange = Schemas['MarkChange']
export type Steer = Schemas['Steer']
export type Fault = Schemas['Fault']
