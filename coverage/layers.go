package coverage

import "drawbar/coverage/ground"

// members is a set of the products of an operation, as bits of their index;
// wholeBit stands for the operation itself.
type members uint64

const (
	wholeBit    members = 1 << 63
	maxProducts         = 63
)

// layers keeps the ground of an operation and of each of its products. Those
// that were laid on the same quads so far share one ground.Set; the set is
// copied only when their ways part, so a drill that runs three tanks together
// costs no more than one.
type layers struct {
	sets []layer
	seen members
}

type layer struct {
	set *ground.Set
	of  members
}

// add puts a quad on the ground of the operation and of every member, and returns
// how much of it the operation had covered before.
func (l *layers) add(q ground.Quad, on members) (again ground.Area) {
	on |= wholeBit
	l.admit(on &^ l.seen)
	for i := 0; i < len(l.sets); i++ {
		both := l.sets[i].of & on
		if both == 0 {
			continue
		}
		if rest := l.sets[i].of &^ on; rest != 0 {
			l.sets = append(l.sets, layer{set: l.sets[i].set.Clone(), of: rest})
			l.sets[i].of = both
		}
		if l.sets[i].of&wholeBit != 0 { // which is told the cause later
			_, again = l.sets[i].set.AddWaiting(q)
		} else {
			l.sets[i].set.Add(q)
		}
	}
	return again
}

// admit gives members that were never laid before an empty ground of their own.
func (l *layers) admit(fresh members) {
	if fresh == 0 {
		return
	}
	l.sets = append(l.sets, layer{set: ground.New(), of: fresh})
	l.seen |= fresh
}

// of is the ground of one member, nil when nothing was laid.
func (l *layers) of(m members) *ground.Set {
	for _, s := range l.sets {
		if s.of&m != 0 {
			return s.set
		}
	}
	return nil
}

// bytes is the memory held by the grounds.
func (l *layers) bytes() int {
	n := 0
	for _, s := range l.sets {
		n += s.set.Bytes()
	}
	return n
}
