// What is not needed while driving, one touch further away. A sheet that is added here
// is on the screen.

import type { JSX } from 'preact'
import { FarmSheet } from '../catalog/Farm'
import { MarksSheet } from '../marks/MarksSheet'
import { ArrivalsSheet } from './Arrivals'
import { PastSheet } from '../past/PastSheet'
import { Sheet } from './common'

export interface Entry {
  /** its button is data-test="open-KEY" */
  key: string
  title: string
  hint: string
  /** also while a recorded session is shown */
  inReplay: boolean
  sheet: (p: { onClose: () => void }) => JSX.Element
}

export const entries: readonly Entry[] = [
  { key: 'farm', title: 'Farm', hint: 'Fields with seasons and plans, products, implements, tractors, people.', inReplay: false, sheet: FarmSheet },
  { key: 'marks', title: 'Marks', hint: 'What was marked in all sessions, by distance: notes, what is done, and hand-over to others.', inReplay: false, sheet: MarksSheet },
  { key: 'past', title: 'Past work', hint: 'What was done: list, map, totals, progress; corrections, weighed amounts.', inReplay: false, sheet: PastSheet },
  { key: 'arrivals', title: 'What arrives', hint: 'The lines of receiver and controller as they come, and a line profile tried on them.', inReplay: true, sheet: ArrivalsSheet },
]

export function MoreSheet({ replay, onOpen, onClose }: { replay: boolean; onOpen: (key: string) => void; onClose: () => void }) {
  return (
    <Sheet title="More" test="more-sheet" onClose={onClose}>
      <ul class="entries">
        {entries.filter((e) => e.inReplay || !replay).map((e) => (
          <li key={e.key}>
            <button type="button" class="button plain" data-test={`open-${e.key}`} onClick={() => onOpen(e.key)}>{e.title}</button>
            <span class="quiet">{e.hint}</span>
          </li>
        ))}
        <li>
          <button type="button" class="button plain" data-test="open-settings" onClick={() => onOpen('settings')}>Settings</button>
          <span class="quiet">Look, sound, where marks lie, other devices.</span>
        </li>
      </ul>
    </Sheet>
  )
}
