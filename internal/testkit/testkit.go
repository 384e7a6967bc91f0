// Package testkit is what many tests need alike: where the module and the real
// recordings are, outside programs to compare with, and golden files.
//
// A test that lacks an outside program or the recordings is skipped with a
// message that says what to do. Where CI=true a missing program fails instead:
// a check that nobody runs is no check.
package testkit

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files instead of comparing with them")

// packages names the Debian package of each outside program.
var packages = map[string]string{
	"Planimeter":             "geographiclib-tools",
	"GeodSolve":              "geographiclib-tools",
	"GeoConvert":             "geographiclib-tools",
	"TransverseMercatorProj": "geographiclib-tools",
	"gpsdecode":              "gpsd-clients",
	"ogrinfo":                "gdal-bin",
	"ogr2ogr":                "gdal-bin",
	"python3 jsonschema":     "python3-jsonschema",
	"promtool":               "prometheus",
	"python3":                "python3-shapely",
	"qemu-aarch64-static":    "qemu-user-static",
	"qemu-arm-static":        "qemu-user-static",
}

// inCI tells whether the tests run where everything must be there.
func inCI() bool { return os.Getenv("CI") == "true" }

// ModuleRoot returns the folder of go.mod, above the package under test.
func ModuleRoot(t testing.TB) string {
	t.Helper()
	start, err := os.Getwd()
	if err != nil {
		t.Fatalf("find the module's folder: %v", err)
	}
	for dir := start; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if dir == filepath.Dir(dir) {
			t.Fatalf("find the module's folder: no go.mod in %s or above", start)
		}
	}
}

// SharedData returns the folder of real recordings and field outlines:
// $DRAWBAR_DATA, else shared/data beside the module. The test is skipped where
// there is none.
func SharedData(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("DRAWBAR_DATA")
	if dir == "" {
		dir = filepath.Join(ModuleRoot(t), "..", "shared", "data")
	}
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		t.Skipf("no real recordings in %s: set DRAWBAR_DATA to their folder", dir)
	}
	return dir
}

// Tool returns the path of an outside program. Without it the test is skipped;
// it fails where CI=true.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, name)
	}
	return path
}

// Python returns a python3 that can import shapely, under the rule of Tool.
func Python(t testing.TB) string {
	t.Helper()
	return python(t, "shapely", "python3")
}

// PythonJSONSchema returns a python3 that can import jsonschema, under the rule
// of Tool.
func PythonJSONSchema(t testing.TB) string {
	t.Helper()
	return python(t, "jsonschema", "python3 jsonschema")
}

func python(t testing.TB, module, name string) string {
	t.Helper()
	for _, path := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(path, "-c", "import "+module).Run() == nil {
			return path
		}
	}
	missing(t, name)
	return ""
}

func missing(t testing.TB, name string) {
	t.Helper()
	from := packages[name]
	if from == "" {
		from = name
	}
	if inCI() {
		t.Fatalf("%s is missing: install %s", name, from)
	}
	t.Skipf("%s is missing: install %s", name, from)
}

// Golden compares got with the file at path, below the package's testdata by
// custom. With -update it writes the file instead, which is refused where
// CI=true.
func Golden(t testing.TB, path string, got []byte) {
	t.Helper()
	if *update {
		if inCI() {
			t.Fatalf("golden file %s: -update is refused where CI=true", path)
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatalf("write golden file: %v", err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatalf("write golden file: %v", err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("read golden file: %v (go test -update writes it)", err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("golden file %s differs (-want +got); go test -update accepts the new one:\n%s", path, diff)
	}
}
