package replay

import (
	"errors"
	"io"
)

// Chain is several recordings one after the other as one.
func Chain(sources ...Source) Source { return &chain{sources} }

type chain struct{ left []Source }

// Next goes on to the next source at the end of one.
func (c *chain) Next() (Event, error) {
	for len(c.left) > 0 {
		e, err := c.left[0].Next()
		if !errors.Is(err, io.EOF) {
			return e, err
		}
		c.left = c.left[1:]
	}
	return Event{}, io.EOF
}

// Merge is several recordings of the same time as one: the receiver's in one file,
// say, and the controller's in another. Of the events that come next it always
// yields the one that arrived first, of equal ones that of the earlier source; the
// order within each source stays.
func Merge(sources ...Source) Source {
	m := &merge{inputs: make([]mergeInput, len(sources))}
	for i, s := range sources {
		m.inputs[i].source = s
	}
	return m
}

type merge struct{ inputs []mergeInput }

type mergeInput struct {
	source Source
	next   Event
	loaded bool
	ended  bool
}

// Next returns the damage of any source as soon as it meets it.
func (m *merge) Next() (Event, error) {
	first := -1
	for i := range m.inputs {
		in := &m.inputs[i]
		if !in.loaded && !in.ended {
			e, err := in.source.Next()
			if errors.Is(err, io.EOF) {
				in.ended = true
				continue
			}
			if err != nil {
				return Event{}, err
			}
			e.Line = append(in.next.Line[:0], e.Line...)
			in.next, in.loaded = e, true
		}
		if in.loaded && (first < 0 || in.next.At.Before(m.inputs[first].next.At)) {
			first = i
		}
	}
	if first < 0 {
		return Event{}, io.EOF
	}
	m.inputs[first].loaded = false
	return m.inputs[first].next, nil
}
