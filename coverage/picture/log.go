package picture

// blockSize is how many of a kind are kept in one piece of memory.
const blockSize = 512

// log is a list that only grows, in blocks that stay where they are: a copy of it
// may be read by another goroutine while it grows on.
type log[T any] struct {
	blocks []*[blockSize]T
	n      int
}

// add appends values that are not parted by a block's end, at most blockSize of
// them, and returns where they begin.
func (l *log[T]) add(values ...T) (at int) {
	if room := len(l.blocks)*blockSize - l.n; room < len(values) {
		l.n += room
		l.blocks = append(l.blocks, new([blockSize]T))
	}
	at = l.n
	block := l.blocks[at/blockSize]
	l.n += copy(block[at%blockSize:], values)
	return at
}

// get is n values from where add has put them.
func (l *log[T]) get(at, n int) []T {
	if n == 0 {
		return nil
	}
	i := at % blockSize
	return l.blocks[at/blockSize][i : i+n : i+n]
}
