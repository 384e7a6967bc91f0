package daemon

import (
	"bytes"
	"context"
	"time"

	"drawbar/coverage"
	"drawbar/internal/catalog"
	"drawbar/internal/marks"
	"drawbar/internal/tiles"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// keepMarks makes the keeper of marks; there is none without a catalogue.
func (c *core) keepMarks(farm *catalog.Catalog) {
	if farm == nil {
		return
	}
	c.marks = marks.NewKeeper(marks.Config{
		Catalog: farm, Dir: c.record.folder.Dir(), Session: c.record.name(), Now: c.cfg.now, Log: c.cfg.Log,
		Say: func(ctx context.Context, line []byte) (time.Time, error) {
			said, err := c.Say(ctx, line)
			return said.At, err
		},
		Changed: c.showMarks,
	})
	c.marks.Behind()
	c.board.onMarks = c.marks.Stand
}

// settles tells the keeper of marks that a line, recorded at a moment, says to be
// done or open again.
func (c *core) settles(e replay.Event) {
	if c.marks == nil || !bytes.Contains(e.Line, []byte(`"mark"`)) {
		return
	}
	op, _ := statement.ParseLine(e.Line)
	if m := op.Mark; m != nil && m.Of != "" && !op.Correction() {
		c.marks.Settle(catalog.Settlement{Origin: m.Of, Done: m.Done, At: e.At, By: m.By, Now: true})
	}
}

// showMarks draws the marks as the catalogue has them: those of other sessions that
// are open, and what became of those of this one.
func (c *core) showMarks(ctx context.Context) {
	if c.marks == nil {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, catalogTime)
	defer cancel()
	c.showing.Lock() // so that an older list does not take the place of a newer
	defer c.showing.Unlock()
	all, err := c.marks.List(ctx, marks.Filter{State: marks.All})
	if err != nil {
		if ctx.Err() == nil {
			c.cfg.Log.Error("the marks of the catalogue are not shown as they are now", keyError, err)
		}
		return
	}
	own, others := map[int]tiles.Kept{}, []tiles.Mark(nil)
	session := c.record.name()
	for _, m := range all {
		kept := tiles.Kept{ID: string(m.ID), Done: m.Done, Kind: m.Kind, Note: m.Note}
		if from, number := m.Session(); from == session {
			own[number] = kept
			continue
		}
		if m.HasPlace && !m.Done {
			others = append(others, tiles.Mark{
				Mark: coverage.Mark{Time: m.Left, Kind: m.Kind, Note: m.Note, LonDeg: m.LonDeg, LatDeg: m.LatDeg, Known: true}, Kept: kept, Earlier: true,
			})
		}
	}
	_ = c.Do(ctx, func() { // an error is that it goes down
		c.board.feed.SetMarks(own, others)
		c.board.keptMarks++
	})
}
