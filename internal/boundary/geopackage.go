package boundary

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"modernc.org/sqlite"
)

// The bounds of what a GeoPackage may make of its reader, which is a whole SQLite.
const (
	gpkgMaxTables = 100
	gpkgMaxValue  = 16 << 20 // bytes of a value: more than 50,000 positions with height and measure
	gpkgMaxTime   = 30 * time.Second
)

// sqliteHeader is how long the header of an SQLite file is.
const sqliteHeader = 100

// sqliteLimitLength is the number of the limit in SQLite's own interface
// (SQLITE_LIMIT_LENGTH).
const sqliteLimitLength = 0

// gpkgTable is a table of features.
type gpkgTable struct {
	name, column string
	srs          int64
	typ          string
}

// geoPackage reads every table of polygons (OGC 12-128). The file's bytes are
// opened as they are, in memory: the file itself is never written, nor anything
// beside it.
func (r *reader) geoPackage(b []byte) {
	if log, err := r.open(r.file + "-wal"); err == nil && len(log) > 0 {
		r.fault("", "changes in "+r.file+"-wal that are not in the file yet", "the file after the program that has it open is closed")
		return
	}
	if !wholeSQLite(b) {
		r.fault("", "a GeoPackage that is cut off", "the whole file")
		return
	}
	if b[18] == 2 || b[19] == 2 {
		// Written with a log, which has been taken in: read as a file without.
		b = slices.Clone(b)
		b[18], b[19] = 1, 1
	}
	ctx, cancel := context.WithTimeout(context.Background(), gpkgMaxTime)
	defer cancel()
	if err := r.gpkgRead(ctx, b); err != nil {
		r.fault("", "a GeoPackage that cannot be read ("+clean(err.Error())+")", "an undamaged file")
	}
}

// wholeSQLite tells whether a file has all the pages that its header states (The
// SQLite database file format, section 1.3: page size at byte 16, number of pages
// at 28, valid where the counters at 24 and 92 agree). SQLite itself would read
// what a page cut off lacks as zeros.
func wholeSQLite(b []byte) bool {
	if len(b) < sqliteHeader {
		return false
	}
	page := int64(binary.BigEndian.Uint16(b[16:]))
	if page == 1 {
		page = 65536
	}
	if page < 512 || int64(len(b))%page != 0 {
		return false
	}
	pages := int64(binary.BigEndian.Uint32(b[28:]))
	return [4]byte(b[24:]) != [4]byte(b[92:]) || pages*page <= int64(len(b))
}

func (r *reader) gpkgRead(ctx context.Context, b []byte) (err error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	err = conn.Raw(func(c any) error {
		d, ok := c.(interface{ Deserialize(content []byte) error })
		if !ok {
			return errors.New("the driver cannot open a file in memory")
		}
		return d.Deserialize(b)
	})
	if err != nil {
		return err
	}
	if _, err := sqlite.Limit(conn, sqliteLimitLength, gpkgMaxValue); err != nil {
		return err
	}
	for _, pragma := range []string{"trusted_schema = 0", "cell_size_check = 1", "query_only = 1"} {
		if _, err := conn.ExecContext(ctx, "PRAGMA "+pragma); err != nil {
			return err
		}
	}
	for _, name := range []string{"gpkg_contents", "gpkg_geometry_columns", "gpkg_spatial_ref_sys"} {
		if ok, err := isTable(ctx, conn, name); err != nil {
			return err
		} else if !ok {
			r.fault("", "an SQLite file without the table "+name, "a GeoPackage with features")
			return nil
		}
	}
	tables, err := gpkgTables(ctx, conn)
	if err != nil {
		return err
	}
	passed := 0
	for _, t := range tables {
		if !slices.Contains([]string{"GEOMETRY", "POLYGON", "MULTIPOLYGON", "GEOMETRYCOLLECTION", "SURFACE", "MULTISURFACE", "CURVEPOLYGON"}, strings.ToUpper(t.typ)) {
			passed++
			continue
		}
		if err := r.gpkgTable(ctx, conn, t); err != nil {
			return fmt.Errorf("table %s: %w", clean(t.name), err)
		}
	}
	if passed > 0 && passed == len(tables) {
		r.fault("", "tables of points or lines alone", "a table of polygons")
	}
	return nil
}

// isTable tells whether a name is that of an ordinary table: a view or a virtual
// table could do anything.
func isTable(ctx context.Context, conn *sql.Conn, name string) (bool, error) {
	var n int
	err := conn.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND lower(name) = lower(?)
		AND sql NOT LIKE 'create virtual%'`, name).Scan(&n)
	return n == 1, err
}

func gpkgTables(ctx context.Context, conn *sql.Conn) (out []gpkgTable, err error) {
	rows, err := conn.QueryContext(ctx, `SELECT c.table_name, g.column_name, g.srs_id, g.geometry_type_name
		FROM gpkg_contents c JOIN gpkg_geometry_columns g ON lower(g.table_name) = lower(c.table_name)
		WHERE c.data_type = 'features' ORDER BY c.table_name, g.column_name LIMIT ?`, gpkgMaxTables)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var t gpkgTable
		if err := rows.Scan(&t.name, &t.column, &t.srs, &t.typ); err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, rows.Err()
}

func (r *reader) gpkgTable(ctx context.Context, conn *sql.Conn, t gpkgTable) error {
	at := "table " + clean(t.name)
	if ok, err := isTable(ctx, conn, t.name); err != nil {
		return err
	} else if !ok {
		r.fault(at, "a view, or no table of that name", "a table of features: export the view as one")
		return nil
	}
	s, ok, err := r.gpkgSystem(ctx, conn, t.srs, at)
	if err != nil || !ok {
		return err
	}
	r.use(s)
	columns, err := gpkgColumns(ctx, conn, t)
	if err != nil {
		return err
	}
	name := "NULL"
	if i := r.attributes(columns); i >= 0 {
		name = identifier(columns[i])
	}
	rows, err := conn.QueryContext(ctx, "SELECT "+identifier(t.column)+", "+name+" FROM "+identifier(t.name))
	if err != nil {
		return err
	}
	defer rows.Close()
	for n := 1; rows.Next(); n++ {
		var blob []byte
		var name any
		if err := rows.Scan(&blob, &name); err != nil {
			return err
		}
		if r.full || n > 4*MaxFields {
			r.room(nil)
			return nil
		}
		here := fmt.Sprintf("row %d of %s", n, clean(t.name))
		outline, err := readGeometry(blob, t.srs)
		if err != nil {
			r.fault(called(here, clean(text(name))), err.Error(), "polygons")
			continue
		}
		r.add(here, text(name), outline)
	}
	return rows.Err()
}

// gpkgColumns are the names of a table's columns, that of the geometry aside.
func gpkgColumns(ctx context.Context, conn *sql.Conn, t gpkgTable) (out []string, err error) {
	rows, err := conn.QueryContext(ctx, "SELECT name FROM pragma_table_info(?)", t.name)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		if !strings.EqualFold(name, t.column) {
			out = append(out, name)
		}
	}
	return out, rows.Err()
}

// gpkgSystem is the reference system of an srs_id: by the code of the EPSG, else
// by its description.
func (r *reader) gpkgSystem(ctx context.Context, conn *sql.Conn, id int64, at string) (system, bool, error) {
	var organization, definition, name string
	var code int64
	err := conn.QueryRowContext(ctx, "SELECT organization, organization_coordsys_id, definition, srs_name FROM gpkg_spatial_ref_sys WHERE srs_id = ?", id).
		Scan(&organization, &code, &definition, &name)
	if errors.Is(err, sql.ErrNoRows) {
		r.fault(at, fmt.Sprintf("the reference system %d, which the file does not describe", id), "WGS 84 (EPSG:4326)")
		return system{}, false, nil
	}
	if err != nil {
		return system{}, false, err
	}
	if strings.EqualFold(organization, "epsg") && code > 0 && code < 1<<20 {
		if s, ok := epsg(int(code)); ok {
			return s, true, nil
		}
	} else if s, ok := fromWKT(definition); ok {
		return s, true, nil
	}
	r.fault(at, fmt.Sprintf("%s (%s:%d), %s", clean(name), clean(organization), code, advice), "WGS 84, ETRS89 or NAD83 in degrees or UTM, or Web Mercator")
	return system{}, false, nil
}

func identifier(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }

// text is a value as text.
func text(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case []byte:
		return string(v)
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	default:
		return ""
	}
}

// readGeometry reads a geometry of a GeoPackage (OGC 12-128r18, section 2.1.3):
// "GP", version 0, flags, the srs_id as int32, an envelope by bits 1 to 3 of the
// flags, then well-known binary. An empty one, and NULL, is no outline.
func readGeometry(b []byte, srs int64) (orb.MultiPolygon, error) {
	const head = 8
	if len(b) == 0 {
		return nil, nil
	}
	if len(b) < head || b[0] != 'G' || b[1] != 'P' || b[2] != 0 {
		return nil, errors.New("a value that is no geometry of a GeoPackage")
	}
	flags := b[3]
	var order binary.ByteOrder = binary.BigEndian
	if flags&1 != 0 {
		order = binary.LittleEndian
	}
	if id := int64(int32(order.Uint32(b[4:]))); id != srs {
		return nil, fmt.Errorf("a geometry of the reference system %d in a table of %d", id, srs)
	}
	numbers := []int{0, 4, 6, 6, 8}
	envelope := int(flags >> 1 & 7)
	switch {
	case flags&0x20 != 0:
		return nil, errors.New("a geometry of a vendor's own type")
	case flags&0x10 != 0:
		return nil, nil
	case envelope >= len(numbers) || len(b) < head+8*numbers[envelope]:
		return nil, errWKBCut
	}
	return readWKB(b[head+8*numbers[envelope]:])
}
