package records

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	_ "modernc.org/sqlite" // the driver
)

// FileName is the file of what was worked out, in the folder of sessions. It may be
// deleted at any time.
const FileName = "work.db"

// version is that of the tables and of what is worked out; a file of another is made
// anew. Raise it when figures of the same recording change.
const version = 1

// applicationID marks the file in the header of SQLite: "drww".
const applicationID = 0x64727777

// tables holds what was worked out of a session or a join, by a digest of all that it
// followed from. ground is GeoJSON, packed.
const tables = `
CREATE TABLE result (
  name TEXT PRIMARY KEY, -- of the session, or "join " and its digest
  digest TEXT NOT NULL,
  failed TEXT NOT NULL, -- why it could not be worked out; '' = it was
  figures TEXT NOT NULL -- JSON
) STRICT;
CREATE TABLE ground (
  name TEXT NOT NULL REFERENCES result (name) ON DELETE CASCADE,
  number INTEGER NOT NULL, -- of the operation
  shape BLOB NOT NULL,
  PRIMARY KEY (name, number)
) STRICT, WITHOUT ROWID;
`

// file is work.db.
type file struct {
	db   *sql.DB
	path string
}

// result is what was worked out of one session or join.
type result struct {
	Operations []Operation
	Warnings   []string
	Corrected  int

	name, digest, failed string
	ground               []groundShape
}

type groundShape struct {
	number int
	packed []byte
}

// openFile opens the file, making it anew where it is of another version or cannot be
// read.
func openFile(ctx context.Context, dir string) (*file, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("open the index of records: %w", err)
	}
	f := &file{path: filepath.Join(dir, FileName)}
	err := f.open(ctx)
	if err == nil || ctx.Err() != nil {
		return f, err
	}
	// Nothing in it is lost that cannot be worked out again.
	if err := f.renew(ctx); err != nil {
		return nil, fmt.Errorf("open the index of records %s: %w; delete it", f.path, err)
	}
	return f, nil
}

func (f *file) open(ctx context.Context) error {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(NORMAL)", "foreign_keys(1)", "trusted_schema(0)",
	}}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: f.path}).EscapedPath(), RawQuery: q.Encode()}).String())
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(4)
	f.db = db
	if err := f.prepare(ctx); err != nil {
		return errors.Join(err, db.Close())
	}
	return nil
}

var errOther = errors.New("it is of another version")

func (f *file) prepare(ctx context.Context) error {
	return f.write(ctx, func(tx *sql.Tx) error {
		var app, user, count int64
		for _, q := range []struct {
			query string
			to    *int64
		}{{"PRAGMA application_id", &app}, {"PRAGMA user_version", &user}, {"SELECT count(*) FROM sqlite_schema", &count}} {
			if err := tx.QueryRowContext(ctx, q.query).Scan(q.to); err != nil {
				return err
			}
		}
		switch {
		case app == applicationID && user == version:
			return nil
		case app != 0 || user != 0 || count != 0:
			return errOther
		}
		_, err := tx.ExecContext(ctx, fmt.Sprintf("%s; PRAGMA application_id = %d; PRAGMA user_version = %d", tables, applicationID, version))
		return err
	})
}

// renew makes the file anew.
func (f *file) renew(ctx context.Context) error {
	if f.db != nil {
		f.db.Close()
	}
	for _, end := range []string{"", "-wal", "-shm", "-journal"} {
		if err := os.Remove(f.path + end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return f.open(ctx)
}

func (f *file) close() error { return f.db.Close() }

func (f *file) write(ctx context.Context, do func(tx *sql.Tx) error) error {
	tx, err := f.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err = do(tx); err == nil {
		err = tx.Commit()
	}
	if err != nil {
		tx.Rollback() // an error of its own is that it is over already
	}
	return err
}

// put keeps a result in place of the one before.
func (f *file) put(ctx context.Context, r *result) error {
	figures, err := json.Marshal(r)
	if err != nil {
		return fmt.Errorf("keep the figures of %s: %w", r.name, err)
	}
	err = f.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM result WHERE name = ?", r.name); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO result VALUES (?, ?, ?, ?)", r.name, r.digest, r.failed, string(figures)); err != nil {
			return err
		}
		for _, g := range r.ground {
			if _, err := tx.ExecContext(ctx, "INSERT INTO ground VALUES (?, ?, ?)", r.name, g.number, g.packed); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("keep the figures of %s: %w", r.name, err)
	}
	return nil
}

// drop forgets results.
func (f *file) drop(ctx context.Context, names []string) error {
	err := f.write(ctx, func(tx *sql.Tx) error {
		for _, name := range names {
			if _, err := tx.ExecContext(ctx, "DELETE FROM result WHERE name = ?", name); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("forget figures: %w", err)
	}
	return nil
}

// all hands out every result without its ground.
func (f *file) all(ctx context.Context, use func(*result)) error {
	rows, err := f.db.QueryContext(ctx, "SELECT name, digest, failed, figures FROM result")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		r := &result{}
		var figures []byte
		if err := rows.Scan(&r.name, &r.digest, &r.failed, &figures); err != nil {
			return err
		}
		if err := json.Unmarshal(figures, r); err != nil {
			return fmt.Errorf("figures of %s: %w", r.name, err)
		}
		use(r)
	}
	return rows.Err()
}

// ground is the packed shape of an operation, nil where there is none.
func (f *file) ground(ctx context.Context, name string, number int) (packed []byte, err error) {
	err = f.db.QueryRowContext(ctx, "SELECT shape FROM ground WHERE name = ? AND number = ?", name, number).Scan(&packed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return packed, err
}
