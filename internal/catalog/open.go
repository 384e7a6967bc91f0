package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	_ "modernc.org/sqlite" // the driver
)

// FileName is the catalogue's name in the data folder. SQLite keeps two files
// beside it while it is open, catalog.db-wal and catalog.db-shm.
const FileName = "catalog.db"

// busyMS is how long a writer waits for another, in milliseconds.
const busyMS = 5000

// Catalog is an open catalogue. It may be used from several goroutines.
type Catalog struct {
	Fields     Items[Field]
	Seasons    Items[Season]
	Plans      Items[Plan]
	Implements Items[Implement]
	Tractors   Items[Tractor]
	Products   Items[Product]
	People     Items[Person]
	Marks      Items[Mark]

	db   *sql.DB
	path string
}

// Open opens the catalogue in a data folder, and makes folder and catalogue where
// there are none. An older one is brought to this version first.
func Open(ctx context.Context, dir string) (*Catalog, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("open catalogue: %w", err)
	}
	return open(ctx, filepath.Join(dir, FileName))
}

// OpenExisting is Open where there is a catalogue; else the error is
// fs.ErrNotExist.
func OpenExisting(ctx context.Context, dir string) (*Catalog, error) {
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: there is no catalogue yet; make one with drawbar catalog add-fields or drawbar catalog import, or name another folder with --data: %w", path, fs.ErrNotExist)
	}
	return open(ctx, path)
}

func open(ctx context.Context, path string) (*Catalog, error) {
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		return nil, fmt.Errorf("open catalogue %s: %w", path, err)
	}
	// Readers beside one writer and two who watch; more would only wait.
	db.SetMaxOpenConns(6)
	db.SetMaxIdleConns(6)
	c := &Catalog{db: db, path: path}
	if err := c.migrate(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open catalogue %s: %w", path, err), db.Close())
	}
	c.Fields = Items[Field]{c, fieldTable()}
	c.Seasons = Items[Season]{c, seasonTable()}
	c.Plans = Items[Plan]{c, planTable()}
	c.Implements = Items[Implement]{c, implementTable()}
	c.Tractors = Items[Tractor]{c, tractorTable()}
	c.Products = Items[Product]{c, productTable()}
	c.People = Items[Person]{c, personTable()}
	c.Marks = Items[Mark]{c, markTable()}
	return c, nil
}

// dataSource has every connection wait for writers, obey foreign keys, and bring a
// commit to the disk (synchronous FULL: of a write-ahead log the default would
// lose the last ones to a power cut). A write takes its lock when it begins, so
// that it never has to give up half-way.
func dataSource(path string) string {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", busyMS), "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "trusted_schema(0)",
	}}
	return (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(), RawQuery: q.Encode()}).String()
}

// Path is the catalogue's file.
func (c *Catalog) Path() string { return c.path }

// Close closes the catalogue.
func (c *Catalog) Close() error {
	if err := c.db.Close(); err != nil {
		return fmt.Errorf("close catalogue %s: %w", c.path, err)
	}
	return nil
}

// write runs f in a transaction of its own: all of it is done, or nothing.
func (c *Catalog) write(ctx context.Context, what string, f func(tx *sql.Tx) error) (err error) {
	tx, err := c.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if err = f(tx); err == nil {
		err = tx.Commit()
	}
	if err != nil {
		tx.Rollback() // an error of its own is that it is over already
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// read runs f in a transaction that sees one state of the catalogue.
func (c *Catalog) read(ctx context.Context, what string, f func(tx *sql.Tx) error) error {
	tx, err := c.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}
