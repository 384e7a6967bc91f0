// The drawing of a mark's sign.

import { letterY, type Sign } from '../signs'

export function SignDrawing({ sign, size }: { sign: Sign; size: number }) {
  return (
    <svg class="sign" viewBox="-1 -1 26 26" width={size} height={size} aria-hidden="true">
      <path d={sign.path} />
      <text x="12" y={(letterY[sign.kind] ?? 12.5) + 3.2} font-size={sign.letters.length > 1 ? 8 : 10.5}>{sign.letters}</text>
    </svg>
  )
}
