package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"boretight/internal/config"
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

type fitCmd struct {
	Measure config.Measure `embed:""`
	Budget  bool           `help:"Print all that the uncertainty is made of, and what to improve first (JSON has it anyway)."`
	JSON    bool           `name:"json" help:"Print one JSON object a hold, one a line."`
	Files   []string       `arg:"" name:"file" help:"Trace files; - is standard input."`
}

// Help shows an example.
func (fitCmd) Help() string {
	return `Example:
  boretight fit --volume 34.2ml --volume-u 1% --bore 9mm --limit 2.5sccm hold.csv

Exit status: 0 pass or no limit asked, 3 fail, 4 inconclusive or no leakage rate, 1 error; of several holds the worst.`
}

func (c *fitCmd) run(_ context.Context, a app) (status, error) {
	m, err := newMeasure(c.Measure)
	if err != nil {
		return usage, err
	}
	worst := done
	t := &teller{w: a.out}
	for _, file := range c.Files {
		result, err := c.fit(a, m, t, file)
		if err != nil {
			// The other files may still say something.
			result = a.report(err)
		}
		worst = worst.worse(result)
	}
	return worst, nil
}

// fit prints what one file says.
func (c *fitCmd) fit(a app, m measure, t *teller, file string) (status, error) {
	recording, err := readTrace(a, file)
	if err != nil {
		return failed, err
	}
	holds := hold.Find(recording)
	if len(holds) == 0 {
		return undecided, c.print(a, t, noHold(file, m), nil)
	}
	worst := done
	for _, h := range holds {
		o := m.judge(h)
		o.Schema, o.File = trial.SchemaFit, file
		if err := c.print(a, t, o, h); err != nil {
			return failed, err
		}
		worst = worst.worse(statusOf(o.Verdict, o.LeakRate))
	}
	return worst, nil
}

// noHold is what is said of a file in which nothing was drawn.
func noHold(file string, m measure) trial.Outcome {
	return trial.Outcome{
		Schema: trial.SchemaFit,
		File:   file,
		At:     m.at(),
		Budget: []decay.Contribution{},
		Notes:  []string{"No hold was found: the pressure was never drawn away from rest and held."},
		Method: decay.Method,
	}
}

func (c *fitCmd) print(a app, t *teller, o trial.Outcome, h *hold.Hold) error {
	if c.JSON {
		return printJSON(a.out, o)
	}
	if err := t.outcome(o, h, terminal(a.out)); err != nil || !c.Budget {
		return err
	}
	return printBudget(a.out, o.Improvements())
}

// printBudget prints the whole budget as a table with bars.
func printBudget(w io.Writer, all []trial.Improvement) error {
	if _, err := io.WriteString(w, trial.BudgetText(all)); err != nil {
		return fmt.Errorf("print budget: %w", err)
	}
	return nil
}

// readTrace reads a trace file; - is standard input.
func readTrace(a app, name string) (trace.Trace, error) {
	in := a.in
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return trace.Trace{}, fmt.Errorf("read trace: %w", err)
		}
		defer file.Close()
		in = file
	}
	t, err := trace.Read(in)
	if err != nil {
		return trace.Trace{}, fmt.Errorf("%s: %w", name, err)
	}
	return t, nil
}

// printJSON prints one object on one line.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("print result: %w", err)
	}
	return nil
}
