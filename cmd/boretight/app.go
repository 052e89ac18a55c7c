package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"
	kongcompletion "github.com/jotaen/kong-completion"
	"github.com/mattn/go-isatty"
)

// app is what the commands see of the world outside.
type app struct {
	in   io.Reader
	out  io.Writer
	err  io.Writer
	env  func(string) (string, bool)
	kong *kong.Context
}

// command is what the struct of each command can do.
type command interface {
	run(ctx context.Context, a app) (status, error)
}

// run carries out one command line.
func run(ctx context.Context, args []string, a app) status {
	if len(args) == 0 {
		args = []string{"serve", "--open"} // also what a double click does
	}
	var exited *status
	var commands cli
	parser, err := kong.New(&commands,
		kong.Name("boretight"),
		kong.Description(description),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		environment(),
		kong.ExplicitGroups(groups),
		kong.Writers(a.out, a.err),
		kong.Exit(func(code int) { exited = new(status(code)) }),
	)
	if err != nil {
		return a.report(fmt.Errorf("read command line: %w", err))
	}
	kongcompletion.Register(parser)
	parsed, err := parser.Parse(args)
	switch {
	case exited != nil: // help was printed
		return *exited
	case err != nil:
		return a.reportUsage(parsed, belowZero(args, err))
	}
	a.kong = parsed
	chosen, ok := parsed.Selected().Target.Addr().Interface().(command)
	if !ok {
		return a.report(fmt.Errorf("command %q cannot be run", parsed.Command()))
	}
	ctx, stop := signalled(ctx)
	defer stop()
	result, err := chosen.run(ctx, a)
	if err != nil {
		return max(a.report(err), result)
	}
	return result
}

const description = `How much air a joint leaks, how sure that is, and whether it is within the shop's limit.

Without a command, as by a double click, it serves the bench of the configuration and opens its page in the browser, or that of the program already running; until a gauge is set up, a simulated bench.`

var groups = []kong.Group{
	{Key: "measure", Title: "What is measured (each number with its unit):"},
	{Key: "labels", Title: "What is held:"},
	{Key: "rig", Title: "The rig, part by part:"},
	{Key: "bench", Title: "The bench:"},
}

// signalled returns a context that ends at the first signal to stop; a second one
// then kills, as it does without us.
func signalled(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}

// report prints an error for people and returns the status that goes with it.
func (a app) report(err error) status {
	for line := range strings.SplitSeq(strings.TrimSpace(err.Error()), "\n") {
		fmt.Fprintf(a.err, "boretight: error: %s\n", line)
	}
	if h := hintFor(err); h != "" {
		fmt.Fprintf(a.err, "boretight: hint: %s\n", h)
	}
	if _, wrong := errors.AsType[*usageError](err); wrong {
		return usage
	}
	return failed
}

// reportUsage says what is wrong with a command line.
func (a app) reportUsage(parsed *kong.Context, err error) status {
	help := "boretight --help"
	if pe, ok := errors.AsType[*kong.ParseError](err); ok {
		parsed = pe.Context
		err = errors.New(strings.TrimPrefix(err.Error(), parsed.Command()+": "))
	}
	if parsed != nil && parsed.Selected() != nil {
		help = parsed.Selected().FullPath() + " --help"
	}
	return a.report(&usageError{err: err, hint: "see " + help})
}

// belowZero says of a number below 0 that it is none to take, which reads as a flag that is
// not known.
func belowZero(args []string, err error) error {
	if !strings.Contains(err.Error(), "unknown flag -") {
		return err
	}
	for _, arg := range args {
		if rest, ok := strings.CutPrefix(arg, "-"); ok && rest != "" && strings.ContainsAny(rest[:1], "0123456789.") {
			return fmt.Errorf("%s: it is below 0; want a number with its unit and without the -", arg)
		}
	}
	return err
}

// given reports whether a flag stands on the command line itself, not only in the
// environment.
func (a app) given(flag string) bool {
	return a.kong != nil && slices.ContainsFunc(a.kong.Path, func(p *kong.Path) bool {
		return p.Flag != nil && p.Flag.Name == flag
	})
}

// terminal reports whether a stream is a screen with a person before it.
func terminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && (isatty.IsTerminal(f.Fd()) || isatty.IsCygwinTerminal(f.Fd()))
}
