package archtest

import (
	"strings"
	"testing"
)

// below says what a package of the core may import of this module: itself and
// these. The longest prefix counts.
var below = map[string][]string{
	"nmea":            {},
	"controller":      {},
	"coverage":        {"controller", "nmea", "coverage"},
	"coverage/plane":  {},
	"coverage/ground": {"coverage/plane"},
	"replay":          {"controller", "nmea", "coverage", "replay"},
}

// outside are the imports that would let the clock, chance, the network or
// another goroutine into the core; each stands for the packages below it too.
var outside = []string{
	"net", "log", "os/signal", "os/exec", "os/user", "math/rand", "crypto/rand", "math/cmplx",
	"sync", "context", "runtime", "syscall", "plugin", "testing", "math/big",
	"go.bug.st/serial", "github.com/prometheus", "github.com/spf13", "github.com/peterstace", "pgregory.net",
}

// within tells whether path is root or below it.
func within(path, root string) bool {
	return path == root || strings.HasPrefix(path, root+"/")
}

func allowedBelow(path string) []string {
	best, allowed := "", []string(nil)
	for prefix, list := range below {
		if within(path, prefix) && len(prefix) > len(best) {
			best, allowed = prefix, list
		}
	}
	return allowed
}

func findImports(s *source) (out []finding) {
	for _, f := range s.files {
		for _, spec := range f.Imports {
			path := strings.Trim(spec.Path.Value, `"`)
			switch own, ours := strings.CutPrefix(path, "drawbar/"); {
			case ours:
				allowed := false
				for _, root := range allowedBelow(s.path) {
					allowed = allowed || within(own, root)
				}
				if !allowed {
					out = append(out, s.found(spec.Pos(), path, "%s may import of this module only %v, not %s", s.path, allowedBelow(s.path), own))
				}
			case path == "os" && !within(s.path, "replay"):
				out = append(out, s.found(spec.Pos(), path, "only replay opens files: %s must take a reader instead of importing os", s.path))
			default:
				for _, root := range outside {
					if within(path, root) {
						out = append(out, s.found(spec.Pos(), path, "the core must not import %s: do this in internal/ and hand the result in", path))
					}
				}
			}
			if spec.Name != nil && (spec.Name.Name == "." || spec.Name.Name == "_") {
				out = append(out, s.found(spec.Pos(), spec.Name.Name, "import %s by its name", path))
			}
		}
	}
	return out
}

func TestFindImports(t *testing.T) {
	t.Parallel()
	s := bad(t, "coverage/ground", `package ground
import (
	_ "drawbar/coverage/plane"
	_ "drawbar/nmea"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
)
var _ = strings.ToUpper("") + os.Args[0]
var _ sync.Mutex
var _ = rand.Int()
`)
	wantKeys(t, findImports(s), "_", "_", "drawbar/nmea", "math/rand/v2", "os", "sync")

	replay := bad(t, "replay", "package replay\nimport (\"os\"; \"drawbar/nmea\"; \"drawbar/coverage/plane\")\nvar _ = os.Args\nvar _ nmea.Fix\nvar _ plane.Coord\n")
	wantKeys(t, findImports(replay))
}
