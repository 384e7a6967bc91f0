// What the person chose on this screen; remembered in the browser.

import { useEffect, useState } from 'preact/hooks'
import type { Mode } from './colour'
import type { Look } from './look'

export interface Settings {
  look: Look | 'auto'
  machineUp: boolean
  mode: Mode
  tank: number | null
  markAt: 'bar' | 'antenna'
  markKind: string // left last
  sound: boolean
}

const usual: Settings = { look: 'auto', machineUp: true, mode: 'times', tank: null, markAt: 'bar', markKind: 'stone', sound: false }
const place = 'drawbar.settings'

function read(): Settings {
  try {
    return { ...usual, ...(JSON.parse(localStorage.getItem(place) ?? '{}') as Partial<Settings>) }
  } catch {
    return usual // a private window, or half a value
  }
}

let current = read()
const listeners = new Set<() => void>()

/** change keeps a choice. */
export function change(part: Partial<Settings>): void {
  current = { ...current, ...part }
  try {
    localStorage.setItem(place, JSON.stringify(current))
  } catch {
    // it holds until the page is closed
  }
  for (const l of listeners) l()
}

export function useSettings(): Settings {
  const [, again] = useState(0)
  useEffect(() => {
    const l = () => again((n) => n + 1)
    listeners.add(l)
    return () => { listeners.delete(l) }
  }, [])
  return current
}

/** useLook is the look to wear: the chosen one, else that of the device. */
export function useLook(): Look {
  const { look } = useSettings()
  const [dark, setDark] = useState(() => matchMedia('(prefers-color-scheme: dark)').matches)
  useEffect(() => {
    const query = matchMedia('(prefers-color-scheme: dark)')
    const l = () => setDark(query.matches)
    query.addEventListener('change', l)
    return () => query.removeEventListener('change', l)
  }, [])
  return look === 'auto' ? (dark ? 'night' : 'day') : look
}
