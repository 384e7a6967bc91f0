// The sheets of the day by their keys: begin, begin:FIELD, tank-NUMBER, ready, person,
// implement.

import { BeginSheet, ToolSheet, WhoSheet } from './Begin'
import { ReadySheet } from './Ready'
import { TankSheet } from './Tank'

export function DaySheets({ open, onOpen, onClose }: { open: string | null; onOpen: (key: string) => void; onClose: () => void }) {
  if (open === null) return null
  const tank = /^tank-(\d+)$/.exec(open)?.[1]
  if (tank !== undefined) return <TankSheet key={open} tank={Number(tank)} onClose={onClose} />
  if (open === 'begin') return <BeginSheet field={null} onClose={onClose} />
  if (open.startsWith('begin:')) return <BeginSheet field={open.slice('begin:'.length)} onClose={onClose} />
  switch (open) {
    case 'ready': return <ReadySheet onOpen={onOpen} onClose={onClose} />
    case 'person': return <WhoSheet onClose={onClose} />
    case 'implement': return <ToolSheet onClose={onClose} />
    default: return null
  }
}
