// The signs of marks: each has a shape and letters of its own, so that it is told
// without colour. Paths are in a square of 24 by 24.

export interface Sign { kind: string; label: string; path: string; letters: string }

/** The six kinds that one touch leaves. */
export const signs: readonly Sign[] = [
  { kind: 'stone', label: 'Stone', letters: 'S', path: 'M7 2 16 1.5 22.5 9 21 18 13 22.5 4 20 1.5 11Z' },
  { kind: 'wet spot', label: 'Wet spot', letters: 'W', path: 'M12 1C15 6 20.5 10.5 20.5 15.5A8.5 7.5 0 0 1 3.5 15.5C3.5 10.5 9 6 12 1Z' },
  { kind: 'weeds', label: 'Weeds', letters: 'Wd', path: 'M12 22 9 19H3L5 15 1 12 5 10 3 4 9 6 12 1 15 6 21 4 19 10 23 12 19 15 21 19H15Z' },
  { kind: 'obstacle', label: 'Obstacle', letters: '!', path: 'M12 1.5 23 21.5H1Z' },
  { kind: 'damage', label: 'Damage', letters: 'D', path: 'M12 .8 23.2 12 12 23.2 .8 12Z' },
  { kind: 'come back', label: 'Come back', letters: 'CB', path: 'M4 2H20V15H15L12 22.5 9 15H4Z' },
]

/** Of a mark of another kind. */
export const otherSign: Sign = { kind: '', label: 'Mark', letters: '?', path: 'M2 2H22V22H2Z' }

/** Where the letters stand: the middle of the shape is not always that of the square. */
export const letterY: Record<string, number> = { 'obstacle': 15.5, 'wet spot': 14.5, 'come back': 8.8 }
