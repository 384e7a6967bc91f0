// The order of a list that changes while a finger is on its way: marks keep their
// places until the person asks for the nearest first again.

/** steady gives items in the order of ids they had; what is new comes behind, as it came. */
export function steady<T extends { id: string }>(order: readonly string[], items: readonly T[]): T[] {
  const place = new Map(order.map((id, i) => [id, i]))
  return [...items].sort((a, b) => (place.get(a.id) ?? order.length) - (place.get(b.id) ?? order.length))
}
