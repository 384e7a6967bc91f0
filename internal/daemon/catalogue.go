package daemon

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
)

const (
	catalogTime = 10 * time.Second // to open the catalogue, or to read its fields
	lookEvery   = time.Second      // for changes of the catalogue by other programs
)

// openCatalog opens the catalogue in the data folder, nil where that fails: the
// record is made without it.
func openCatalog(ctx context.Context, cfg *Config) *catalog.Catalog {
	ctx, cancel := context.WithTimeout(ctx, catalogTime)
	defer cancel()
	c, err := catalog.Open(ctx, cfg.File.Data)
	if err != nil {
		cfg.Log.Error("there is no catalogue in this run; the record is made without it", keyError, err)
		return nil
	}
	return c
}

func closeCatalog(c *catalog.Catalog, cfg *Config) {
	if c == nil {
		return
	}
	if err := c.Close(); err != nil {
		cfg.Log.Error("the catalogue was not closed in good order; nothing of it is lost", keyError, err)
	}
}

// known are the fields that the machine may come to: those of the configuration,
// and those of the catalogue that have an outline. Of two with one name that of the
// configuration counts.
type known struct {
	catalog *catalog.Catalog // nil: there is none
	own     []boundary.Field
	list    atomic.Pointer[[]boundary.Field]
	reading sync.Mutex // held from reading to knowing, so that an older state does not take the place of a newer
}

func newKnown(c *catalog.Catalog, own []boundary.Field) *known {
	k := &known{catalog: c, own: own}
	k.list.Store(&own)
	return k
}

// all are those that are known now. The slice is not changed.
func (k *known) all() []boundary.Field { return *k.list.Load() }

// read is what the catalogue makes of them.
func (k *known) read(ctx context.Context) ([]boundary.Field, error) {
	if k.catalog == nil {
		return k.own, nil
	}
	ctx, cancel := context.WithTimeout(ctx, catalogTime)
	defer cancel()
	fields, err := k.catalog.Fields.List(ctx, catalog.Which{})
	if err != nil {
		return nil, fmt.Errorf("read the fields of the catalogue: %w", err)
	}
	out := slices.Clone(k.own)
	for _, f := range fields {
		if len(f.Outline) == 0 || slices.ContainsFunc(k.own, func(o boundary.Field) bool { return boundary.Same(o.Name, f.Name) }) {
			continue
		}
		out = append(out, boundary.Field{Name: f.Name, Outline: f.Outline, AreaM2: f.AreaM2, File: k.catalog.Path(), At: "the catalogue"})
	}
	return out, nil
}

// CatalogChanged has the daemon know what it needs of the catalogue as it is now,
// after an item of a kind was changed; of a field, also where many were.
func (c *core) CatalogChanged(ctx context.Context, of catalog.Kind) error {
	if of == catalog.KindField || of == catalog.KindMark {
		c.showMarks(ctx)
	}
	if of != catalog.KindField {
		return nil
	}
	k := c.known
	k.reading.Lock()
	defer k.reading.Unlock()
	fields, err := k.read(ctx)
	if err != nil {
		return err
	}
	place, err := newPlace(fields)
	if err != nil {
		return fmt.Errorf("know the fields of the catalogue: %w", err)
	}
	if c.records != nil {
		c.records.Refresh()
	}
	return c.Do(ctx, func() {
		k.list.Store(&fields)
		c.board.replaceFields(place)
	})
}

// knowFields takes in the fields of the catalogue; work goes on without them. A
// failure is told unless the one before failed too.
func (c *core) knowFields(ctx context.Context, before bool) (ok bool) {
	if c.known.catalog == nil {
		return true
	}
	err := c.CatalogChanged(ctx, catalog.KindField)
	if err != nil && before && ctx.Err() == nil {
		c.cfg.Log.Error("the fields of the catalogue are not known as they are now", keyError, err)
	}
	return err == nil
}

// keepFields follows changes of the catalogue, by other programs too, until ctx ends.
func (c *core) keepFields(ctx context.Context) {
	if c.known.catalog == nil {
		return
	}
	watch, err := c.known.catalog.Watch(ctx)
	if err != nil {
		c.cfg.Log.Error("changes of the catalogue by other programs are not seen", keyError, err)
		return
	}
	defer watch.Close() // an error of it changes nothing: the catalogue is closed next
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	// Once more at first: something may have changed before the watch began.
	for ok, first := true, true; ; first = false {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		changed, err := watch.Changed(ctx)
		switch {
		case err != nil && ctx.Err() == nil:
			c.cfg.Log.Error("changes of the catalogue are not seen any more", keyError, err)
			return
		case changed || first || !ok:
			ok = c.knowFields(ctx, ok)
		}
	}
}
