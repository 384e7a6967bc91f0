package main

import (
	"encoding/json"
	"fmt"
	"time"

	"drawbar/internal/store"

	"github.com/spf13/cobra"
)

func newCorrectCommand() *cobra.Command {
	var c correctCommand
	cmd := &cobra.Command{
		Use:   "correct --why TEXT (--from TIME --to TIME RECORDING STATEMENT | --undo N RECORDING)",
		Short: "Add a correction beside a recording, or take one back",
		Long: `correct adds what should have been said: it acts as if said at --from and undone at
--to, both by receiver time. It is written beside the recording, with its reason, and
replay applies it. The recording itself never changes.

STATEMENT is a JSON object as an operator line: field, boundary, implement, operation,
tanks, adjust, person, crop, growth_stage, refill, mark, note or weather, or a weighed
amount. adjust changes what it states of a tank and leaves the rest.

--undo N takes back number N, as it was told when that was added and as sessions show
tells. It is a line of its own with a number of its own, so it can be taken back too.`,
		Example: `  drawbar correct --from 2026-05-14T13:05:00Z --to 2026-05-14T14:00:00Z --why "wrong bag" --by "the manager" \
    data/000017-20260514T130510Z.mcap '{"adjust":[{"tank":1,"product":{"name":"Winter barley","kind":"seed"}}]}'
  drawbar correct --undo 1 --why "it was the right bag" data/000017-20260514T130510Z.mcap`,
		Args: usageArgs(cobra.RangeArgs(1, 2), "name the recording and say what was so, as a JSON object"),
		RunE: func(cmd *cobra.Command, args []string) error {
			line, err := c.line(args[1:])
			if err != nil {
				return err
			}
			number, err := store.AddLater(args[0], line)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "added to %s as number %d; replay applies it\n", store.CorrectionsFile(args[0]), number)
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&c.from, "from", "", "`TIME` from which it was so, such as 2026-05-14T13:05:00Z")
	f.StringVar(&c.to, "to", "", "`TIME` until which it was so")
	f.StringVar(&c.why, "why", "", "`TEXT`: the reason, kept with it")
	f.StringVar(&c.by, "by", "", "`NAME` or role of who says so, kept with it")
	f.IntVar(&c.undo, "undo", 0, "take back the correction of this `NUMBER`")
	return cmd
}

// correctCommand is what the flags say.
type correctCommand struct {
	from, to, why, by string
	undo              int
}

// line is the line to add, of the statement or without one.
func (c correctCommand) line(statement []string) ([]byte, error) {
	members := map[string]any{"why": c.why, "made": time.Now().UTC().Format(time.RFC3339)}
	if c.by != "" {
		members["by"] = c.by
	}
	switch {
	case c.undo < 0:
		return nil, usagef("--undo %d: want the number of a correction, from 1", c.undo)
	case c.undo > 0 && (c.from != "" || c.to != "" || len(statement) > 0):
		return nil, usagef("--undo takes back a correction as it is: give it --why and the recording, and neither --from nor --to nor a statement")
	case c.undo > 0 && c.why == "":
		return nil, usagef("--undo needs --why: the reason is kept with it")
	case c.undo > 0:
		members["undo"] = c.undo
		return correction("{}", members)
	case c.from == "" || c.to == "" || c.why == "":
		return nil, usagef("a correction needs --from, --to and --why")
	case len(statement) == 0:
		return nil, usagef("say what was so behind the recording, as a JSON object such as {\"field\":\"Mill Piece\"}")
	}
	members["from"], members["to"] = c.from, c.to
	return correction(statement[0], members)
}

// correction puts what the flags say into the statement. What else is in it is left as
// it was written, for the strict reading that follows.
func correction(statement string, say map[string]any) ([]byte, error) {
	var members map[string]json.RawMessage
	if err := json.Unmarshal([]byte(statement), &members); err != nil || members == nil {
		return nil, usagef("the statement %s: want a JSON object such as {\"field\":\"Mill Piece\"}", statement)
	}
	for _, key := range []string{"from", "to", "why", "by", "made", "undo"} {
		if _, there := members[key]; there {
			return nil, usagef("the statement states %q itself: the options say it", key)
		}
	}
	for key, value := range say {
		raw, err := json.Marshal(value)
		if err != nil {
			return nil, fmt.Errorf("write the correction: %w", err)
		}
		members[key] = raw
	}
	line, err := json.Marshal(members)
	if err != nil {
		return nil, fmt.Errorf("write the correction: %w", err)
	}
	return line, nil
}
