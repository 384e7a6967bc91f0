package main

import (
	"encoding/json"
	"fmt"

	"drawbar/internal/store"

	"github.com/spf13/cobra"
)

func newCorrectCommand() *cobra.Command {
	var from, to, why string
	cmd := &cobra.Command{
		Use:   "correct --from TIME --to TIME --why TEXT RECORDING STATEMENT",
		Short: "Add a correction beside a recording",
		Long: `correct adds what should have been said: it acts as if said at --from and undone at
--to, both by receiver time. It is written beside the recording, with its reason, and
replay applies it. The recording itself never changes, and a later correction can
take an earlier one back.

STATEMENT is a JSON object as an operator line: field, boundary, implement,
operation, tanks, mark, person, note or weather.`,
		Example: `  drawbar correct --from 2026-05-14T13:05:00Z --to 2026-05-14T14:00:00Z --why "wrong bag" \
    data/000017-20260514T130510Z.mcap '{"tanks":[{"tank":1,"product":{"name":"Winter barley","kind":"seed"},"target":"150 kg/ha"}]}'`,
		Args: usageArgs(cobra.ExactArgs(2), "name the recording and say what was so, as a JSON object"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if from == "" || to == "" || why == "" {
				return usagef("a correction needs --from, --to and --why")
			}
			line, err := correction(args[1], from, to, why)
			if err != nil {
				return err
			}
			if err := store.Correct(args[0], line); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "added to %s; replay applies it\n", store.CorrectionsFile(args[0]))
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&from, "from", "", "`TIME` from which it was so, such as 2026-05-14T13:05:00Z")
	f.StringVar(&to, "to", "", "`TIME` until which it was so")
	f.StringVar(&why, "why", "", "`TEXT`: the reason, kept with it")
	return cmd
}

// correction puts from, to and why into the statement. What else is in it is left
// as it was written, for the strict reading that follows.
func correction(statement, from, to, why string) ([]byte, error) {
	var members map[string]json.RawMessage
	if err := json.Unmarshal([]byte(statement), &members); err != nil {
		return nil, usagef("the statement %s: want a JSON object such as {\"field\":\"Mill Piece\"}", statement)
	}
	for key, text := range map[string]string{"from": from, "to": to, "why": why} {
		if _, there := members[key]; there {
			return nil, usagef("the statement states %q itself: say it with --%s alone", key, key)
		}
		raw, err := json.Marshal(text)
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
