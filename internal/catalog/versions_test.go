package catalog_test

import (
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update-versions", false, "rewrite testdata/versions/*.yaml, for a person who then reads the difference")

// script makes a database of a script of SQL.
func script(t *testing.T, path, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(text); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// schemaOf are the tables and indexes of a database, and what is wrong with it.
func schemaOf(t *testing.T, path string) (out []string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, query := range []string{
		"SELECT type || ' ' || name || ': ' || coalesce(sql, '') FROM sqlite_schema",
		"SELECT 'version ' || user_version FROM pragma_user_version",
		"SELECT 'application ' || application_id FROM pragma_application_id",
		"SELECT 'integrity ' || integrity_check FROM pragma_integrity_check",
		"SELECT 'foreign key of ' || \"table\" FROM pragma_foreign_key_check",
	} {
		rows, err := db.Query(query)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var s string
			if err := rows.Scan(&s); err != nil {
				t.Fatal(err)
			}
			out = append(out, s)
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			t.Fatal(err)
		}
	}
	slices.Sort(out)
	return out
}

// A catalogue of every older version opens with all that is in it, and is then as
// one made today. The scripts were written once, when the version was current.
func TestOlderVersions(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	dir := t.TempDir()
	c, err := catalog.Open(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	fresh := schemaOf(t, filepath.Join(dir, catalog.FileName))
	if want := fmt.Sprintf("version %d", catalog.Version); !slices.Contains(fresh, want) || !slices.Contains(fresh, "integrity ok") {
		t.Fatalf("a new catalogue: got %q, want %s", fresh, want)
	}
	for version := 1; version <= catalog.Version; version++ {
		base := filepath.Join("testdata", "versions", fmt.Sprint(version))
		text, err := os.ReadFile(base + ".sql")
		if err != nil {
			t.Fatalf("every version needs a catalogue that it left: %v", err)
		}
		dir := t.TempDir()
		path := filepath.Join(dir, catalog.FileName)
		script(t, path, string(text))
		c, err := catalog.OpenExisting(ctx, dir)
		if err != nil {
			t.Errorf("version %d: %v", version, err)
			continue
		}
		got := exported(t, c, catalog.YAML)
		if *update {
			if err := os.WriteFile(base+".yaml", []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(base + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("version %d (-want +got):\n%s", version, diff)
		}
		f, err := c.Fields.Named(ctx, "Mill Piece")
		if err != nil || f.Revision != 3 {
			t.Errorf("version %d: got %+v, %v, want Mill Piece at revision 3", version, f.Meta, err)
		}
		if _, err := c.Fields.Update(ctx, f); err != nil {
			t.Errorf("version %d: update: %v", version, err)
		}
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(fresh, schemaOf(t, path)); diff != "" {
			t.Errorf("version %d brought up (-fresh +it):\n%s", version, diff)
		}
	}
}

func TestForeignFiles(t *testing.T) {
	t.Parallel()
	for _, x := range []struct{ name, sql, want string }{
		{"a newer version", fmt.Sprintf("PRAGMA application_id = 1685223266; PRAGMA user_version = %d; CREATE TABLE field (id)", catalog.Version+1), "use a newer drawbar"},
		{"another database", "CREATE TABLE field (id)", "no catalogue of drawbar"},
		{"another program's", "PRAGMA application_id = 1196444487", "no catalogue of drawbar"},
	} {
		dir := t.TempDir()
		script(t, filepath.Join(dir, catalog.FileName), x.sql)
		_, err := catalog.Open(t.Context(), dir)
		if err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: got %v, want %q", x.name, err, x.want)
		}
	}
}
