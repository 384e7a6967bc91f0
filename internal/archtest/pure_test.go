package archtest

import (
	"go/ast"
	"go/types"
	"slices"
	"testing"
)

// exactMath are the functions of package math that are the same on every
// processor, being defined to the last bit; constants are free.
var exactMath = []string{
	"Sqrt", "Abs", "Floor", "Ceil", "Trunc", "Round", "RoundToEven", "Min", "Max",
	"Inf", "IsInf", "IsNaN", "NaN", "Copysign", "Signbit",
	"Float64bits", "Float64frombits", "Float32bits", "Float32frombits",
}

// impure are functions and variables that depend on the wall clock, the zone of
// the machine, or the order of a map.
var impure = []string{
	"time.Now", "time.Since", "time.Until", "time.Sleep", "time.After", "time.AfterFunc", "time.Tick",
	"time.NewTicker", "time.NewTimer", "time.Local", "time.LoadLocation",
	// A time from these is in the machine's zone, and prints so, until UTC is called on it.
	"time.Unix", "time.UnixMilli", "time.UnixMicro",
	"(time.Time).Local", "maps.Keys", "maps.Values", "maps.All",
}

// findImpure lists what would make a result depend on more than the input.
func findImpure(s *source) (out []finding) {
	for _, f := range s.files {
		inUTC := map[*ast.Ident]bool{} // time.Unix in time.Unix(...).UTC()
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				out = append(out, s.found(n.Pos(), "go", "a goroutine in the core: its turn would depend on the machine"))
			case *ast.SelectStmt:
				out = append(out, s.found(n.Pos(), "select", "a select statement in the core: its choice is random"))
			case *ast.RangeStmt:
				if isMap(s.info.TypeOf(n.X)) {
					key := "range " + types.ExprString(n.X)
					out = append(out, s.found(n.Pos(), key, "%s: the order of a map differs from run to run; keep a sorted slice", key))
				}
			case *ast.FuncDecl:
				if n.Name.Name == "init" && n.Recv == nil {
					out = append(out, s.found(n.Pos(), "init", "an init function: make the value where it is used"))
				}
			case *ast.SelectorExpr:
				if id := calledIn(n.X); n.Sel.Name == "UTC" && id != nil {
					inUTC[id] = true
				}
			case *ast.Ident:
				if inUTC[n] {
					return true
				}
				if name, why := forbiddenUse(s.info.Uses[n]); name != "" {
					out = append(out, s.found(n.Pos(), name, "%s: %s", name, why))
				}
			}
			return true
		})
	}
	return out
}

// calledIn returns the name of the function if x is the call of a package's
// function.
func calledIn(x ast.Expr) *ast.Ident {
	if call, ok := x.(*ast.CallExpr); ok {
		if fun, ok := call.Fun.(*ast.SelectorExpr); ok {
			return fun.Sel
		}
	}
	return nil
}

func isMap(t types.Type) bool {
	if t == nil {
		return false
	}
	_, ok := t.Underlying().(*types.Map)
	return ok
}

// forbiddenUse names an object that the core must not use, and why.
func forbiddenUse(o types.Object) (name, why string) {
	if o == nil || o.Pkg() == nil {
		return "", ""
	}
	name = o.Pkg().Path() + "." + o.Name()
	f, isFunc := o.(*types.Func)
	if isFunc {
		name = f.FullName()
	}
	if slices.Contains(impure, name) {
		return name, "depends on the moment, the machine or chance"
	}
	if isFunc && o.Pkg().Path() == "math" && !slices.Contains(exactMath, o.Name()) {
		return name, "its last bits differ between processors; use coverage/plane's own"
	}
	return "", ""
}

func TestFindImpure(t *testing.T) {
	t.Parallel()
	s := bad(t, "coverage", `package coverage
import (
	"maps"
	m "math"
	"time"
)
func init() {}
func f(c chan int, counts map[string]int, at time.Time) float64 {
	go f(c, counts, at)
	select {
	case <-c:
	default:
	}
	for range counts {
	}
	for range maps.Keys(counts) {
	}
	_ = time.Now()
	_ = at.Local()
	_ = time.Unix(0, 0).In(time.Local)
	_ = time.Unix(0, 0).UTC()
	if at.After(at) && m.Pi > 3 {
		return m.Sqrt(m.Abs(m.FMA(1, 2, 3)))
	}
	sine := m.Sin
	return sine(1) + m.Pow(2, 3)
}
`)
	wantKeys(t, findImpure(s), "init", "go", "select", "range counts", "maps.Keys", "time.Now", "(time.Time).Local",
		"time.Unix", "time.Local", "math.FMA", "math.Sin", "math.Pow")
}
