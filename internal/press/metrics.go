package press

import (
	"bytes"
	"context"
	"fmt"
)

// Metrics writes the parts of the shelf by state and what a worker has done since it began,
// in the text format of OpenMetrics 1.0.
func (p *Press) Metrics(ctx context.Context, c *Counters) ([]byte, error) {
	counts := map[State]int{}
	err := p.shelf.Each(ctx, "SELECT state, count(*) FROM part GROUP BY state", nil, func(scan func(...any) error) error {
		var s State
		var n int
		err := scan(&s, &n)
		counts[s] = n
		return err
	})
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString("# TYPE gradatim_parts gauge\n# HELP gradatim_parts Parts of all runs, by state.\n")
	for _, s := range []State{Waiting, Making, Done, Failed, Cancelled} {
		fmt.Fprintf(&b, "gradatim_parts{state=%q} %d\n", s, counts[s])
	}
	for _, m := range []struct {
		name, help string
		value      int64
	}{
		{"made", "Parts made by this worker.", c.Made.Load()},
		{"reused", "Parts that were there already.", c.Reused.Load()},
		{"failed", "Parts that failed for good.", c.Failed.Load()},
		{"retried", "Parts that failed and are tried again.", c.Again.Load()},
		{"lost", "Parts that were lost to another worker, or cancelled, while they were made.", c.Lost.Load()},
		{"found", "Parts of other workers that were not heard of any more.", c.Found.Load()},
	} {
		fmt.Fprintf(&b, "# TYPE gradatim_%s counter\n# HELP gradatim_%s %s\ngradatim_%s_total %d\n", m.name, m.name, m.help, m.name, m.value)
	}
	fmt.Fprintf(&b, "# TYPE gradatim_making_seconds counter\n# UNIT gradatim_making_seconds seconds\n# HELP gradatim_making_seconds Time that parts took.\ngradatim_making_seconds_total %.3f\n", float64(c.Millis.Load())/1000)
	fmt.Fprintf(&b, "# TYPE gradatim_made_bytes counter\n# UNIT gradatim_made_bytes bytes\n# HELP gradatim_made_bytes Size of what was made.\ngradatim_made_bytes_total %d\n# EOF\n", c.Bytes.Load())
	return b.Bytes(), nil
}

// Idle tells whether nothing waits or is being made.
func (p *Press) Idle(ctx context.Context) (bool, error) {
	n := 0
	err := p.shelf.Each(ctx, "SELECT count(*) FROM part WHERE state IN ('waiting', 'making')", nil, func(scan func(...any) error) error { return scan(&n) })
	return n == 0, err
}

// Over asks whether a run is over, for Work.
func (p *Press) Over(run int64) func(context.Context) (bool, error) {
	return func(ctx context.Context) (bool, error) {
		over := true // one row of an index, for it is asked five times a second
		err := p.shelf.Each(ctx, "SELECT 1 FROM part WHERE run = ? AND state IN ('waiting', 'making') LIMIT 1", []any{run}, func(func(...any) error) error {
			over = false
			return nil
		})
		return over, err
	}
}
