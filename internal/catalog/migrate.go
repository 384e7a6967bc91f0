package catalog

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"strconv"
)

// applicationID marks the file as a catalogue in the header of SQLite: "drwb".
const applicationID = 0x64727762

// migrations holds N.sql, which brings a catalogue of version N-1 to version N. A
// migration that was released is never changed.
//
//go:embed migrations/*.sql
var migrations embed.FS

// Version is the version of the catalogue's tables that this program writes.
const Version = 5

// migrate brings the file to Version, one transaction a step: an interruption
// leaves the version before or the one after.
func (c *Catalog) migrate(ctx context.Context) error { return c.migrateTo(ctx, Version) }

func (c *Catalog) migrateTo(ctx context.Context, version int) error {
	for {
		at, err := c.version(ctx)
		if err != nil {
			return err
		}
		if at >= version {
			return nil
		}
		if err := c.step(ctx, at); err != nil {
			return err
		}
	}
}

// version is that of the file, 0 of an empty one.
func (c *Catalog) version(ctx context.Context) (version int, err error) {
	err = c.read(ctx, "read its version", func(tx *sql.Tx) error {
		var app, tables int64
		for query, to := range map[string]any{
			"PRAGMA application_id": &app, "PRAGMA user_version": &version, "SELECT count(*) FROM sqlite_schema": &tables,
		} {
			if err := tx.QueryRowContext(ctx, query).Scan(to); err != nil {
				return err
			}
		}
		switch {
		case app == 0 && version == 0 && tables == 0:
			return nil // made just now
		case app != applicationID:
			return fmt.Errorf("it is a database, but no catalogue of drawbar: move it away or name another folder")
		case version > Version:
			return fmt.Errorf("it is of version %d, and this program knows versions up to %d: use a newer drawbar", version, Version)
		}
		return nil
	})
	return version, err
}

func (c *Catalog) step(ctx context.Context, from int) error {
	script, err := migrations.ReadFile("migrations/" + strconv.Itoa(from+1) + ".sql")
	if err != nil {
		return err
	}
	return c.write(ctx, fmt.Sprintf("bring it to version %d", from+1), func(tx *sql.Tx) error {
		var now int
		if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&now); err != nil {
			return err
		}
		if now != from {
			return nil // another program was faster
		}
		for _, s := range []string{
			string(script),
			fmt.Sprintf("PRAGMA application_id = %d", applicationID),
			fmt.Sprintf("PRAGMA user_version = %d", from+1),
		} {
			if _, err := tx.ExecContext(ctx, s); err != nil {
				return err
			}
		}
		return nil
	})
}
