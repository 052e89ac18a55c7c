package bench

import (
	"context"

	"boretight/internal/trace"
)

// entry is one thing for the recorder: a begin, readings, or an end.
type entry struct {
	begin    *Begin
	id       string
	readings []trace.Reading
	end      *End
	// done, if there is one, is called with the end's fate.
	done func(error)
}

// write hands entries to the recorder in order, until the queue closes. After a
// fault the rest of that hold is not offered any more: readings without a beginning
// would be no hold.
func (l *line) write(ctx context.Context) {
	var broken error
	for e := range l.scribes {
		switch {
		case e.begin != nil:
			broken = l.report(l.bench.recorder.BeginHold(ctx, *e.begin))
		case e.end != nil:
			if broken == nil {
				broken = l.report(l.bench.recorder.EndHold(ctx, *e.end))
			}
			if e.done != nil {
				e.done(broken)
			}
		case broken == nil:
			broken = l.report(l.bench.recorder.AppendReadings(ctx, e.id, e.readings))
		}
	}
}

// report notes the recorder's state for the page and the log, once for each change.
func (l *line) report(err error) error {
	problem := ""
	if err != nil {
		problem = err.Error()
	}
	l.bench.mu.Lock()
	changed := l.bench.problem != problem
	l.bench.problem = problem
	l.bench.mu.Unlock()
	if changed && err != nil {
		l.bench.logger.Error("hold is not being recorded", "gauge", l.source.Name, "error", err)
	}
	return err
}
