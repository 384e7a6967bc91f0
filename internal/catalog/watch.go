package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Watch notices changes of the catalogue, by this program and by others. It is for
// one goroutine.
type Watch struct {
	conn *sql.Conn
	seen int64
}

// Watch begins to watch: what is changed from now on is noticed.
func (c *Catalog) Watch(ctx context.Context) (*Watch, error) {
	conn, err := c.db.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("watch the catalogue: %w", err)
	}
	w := &Watch{conn: conn}
	if _, err := w.Changed(ctx); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return w, nil
}

// Changed tells whether the catalogue was changed since the last time. It costs next
// to nothing: SQLite counts the commits of all connections but this one, which
// never writes.
func (w *Watch) Changed(ctx context.Context) (bool, error) {
	var version int64
	if err := w.conn.QueryRowContext(ctx, "PRAGMA data_version").Scan(&version); err != nil {
		return false, fmt.Errorf("watch the catalogue: %w", err)
	}
	changed := version != w.seen
	w.seen = version
	return changed, nil
}

// Close ends it.
func (w *Watch) Close() error {
	if err := w.conn.Close(); err != nil {
		return fmt.Errorf("stop watching the catalogue: %w", err)
	}
	return nil
}
