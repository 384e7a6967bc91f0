package choices

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"drawbar/replay/statement"
)

// proof reads the line again as the session will: what is wrong with a name or a
// number is told by the member of the request that it came from.
func (c *compose) proof() {
	line, err := json.Marshal(c.out)
	if err != nil {
		c.fault("", "what cannot be written", "plain names and numbers")
		return
	}
	if string(line) == "{}" {
		return // nothing is said
	}
	_, faults := statement.ParseLine(line)
	for _, f := range faults {
		c.fault(c.member(f.Path), f.Got, f.Want)
	}
}

// member is the member of the request that a member of the line came from.
func (c *compose) member(path string) string {
	for i := range c.out.Adjust {
		rest, ok := strings.CutPrefix(path, fmt.Sprintf("adjust[%d].", i))
		if !ok {
			continue
		}
		k := slices.IndexFunc(c.loads, func(l load) bool { return l.tank == c.out.Adjust[i].Tank })
		if k >= 0 && c.loads[k].member != "" {
			return c.loads[k].member + strings.TrimSuffix(rest, ".name")
		}
	}
	return path
}
