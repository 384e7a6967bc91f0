package daemon

import (
	"context"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/records"
)

const (
	recordsTime = 10 * time.Second // to open the index of records
	// How long the index rests for each second of work: it takes a third of one
	// processor at most, and gives way to everything else.
	recordsRest = 2
)

// openRecords opens the index of what was recorded, nil where that fails: the record
// is made without it.
func openRecords(ctx context.Context, cfg *Config, farm *catalog.Catalog, record *recording) *records.Index {
	ctx, cancel := context.WithTimeout(ctx, recordsTime)
	defer cancel()
	x, err := records.Open(ctx, records.Config{
		Dir: record.folder.Dir(), Catalog: farm, Timezone: cfg.File.Timezone, Live: record.name, Rest: recordsRest, Log: cfg.Log,
	})
	if err != nil {
		cfg.Log.Error("recorded work is not listed in this run; the record is made without it", keyError, err)
		return nil
	}
	return x
}

// keepRecords works out recorded work until ctx ends, once old sessions are tidied:
// one that is packed meanwhile would be worked out twice.
func (c *core) keepRecords(ctx context.Context, tidied task) {
	if c.records == nil {
		return
	}
	select {
	case <-tidied.done:
	case <-ctx.Done():
		return
	}
	if err := c.records.Run(ctx); err != nil {
		c.cfg.Log.Error("recorded work is not worked out any more", keyError, err)
	}
}

// closeRecords closes the index after its work has ended and nobody asks any more.
func (c *core) closeRecords() {
	if c.records == nil {
		return
	}
	if err := c.records.Close(); err != nil {
		c.cfg.Log.Error("the index of recorded work was not closed in good order; nothing of it is lost", keyError, err)
	}
}
