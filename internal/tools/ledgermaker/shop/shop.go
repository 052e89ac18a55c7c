// Package shop makes up a shop: a ledger of years of visits, for tests and measurements of
// what grows with it. All is the same for the same seed but for the identities and the salts
// of texts. Customers, makers and readings are made up.
package shop

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/quantity"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

const (
	// HoldsPerTicket are three as found and three as left of one joint.
	HoldsPerTicket = 2 * holdsPerTrial
	holdsPerTrial  = 3
	// between is the time from one ticket to the next.
	between = 30 * time.Minute
	// stillOpen is the number of tickets at the end that are not closed.
	stillOpen = 30
	limitSCCM = 2.5
	statedPa  = 2500
)

// joints are those that the shop repairs, with the limit's closure.
var joints = [...][2]string{
	{"oboe", "upper"}, {"oboe", "lower"}, {"english-horn", "upper"}, {"clarinet", "upper"}, {"clarinet", "lower"},
	{"flute", "body"}, {"bassoon", "wing"}, {"alto-sax", "body"},
}

// Make makes the ledger at path with at least so many holds, the last of them at the time end.
func Make(ctx context.Context, path string, holds int, seed uint64, end time.Time) error {
	return sqlite.Make(ctx, path, func(b *sqlite.Bulk) error { return fill(ctx, b, holds, seed, end) })
}

func fill(ctx context.Context, b *sqlite.Bulk, holds int, seed uint64, end time.Time) error {
	tickets := (holds + HoldsPerTicket - 1) / HoldsPerTicket
	m := maker{random: rand.New(rand.NewPCG(seed, 0)), writer: ledger.NewID(), at: end.Add(-time.Duration(tickets+1) * between)}
	// A statement that can be cancelled costs a goroutine; there are millions of them.
	whole := context.WithoutCancel(ctx)
	if err := m.limits(whole, b); err != nil {
		return err
	}
	for done := range tickets {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := m.visit(whole, b, tickets-done <= stillOpen); err != nil {
			return fmt.Errorf("ticket number %d: %w", done+1, err)
		}
	}
	return nil
}

// maker goes through the years.
type maker struct {
	random    *rand.Rand
	writer    string
	at        time.Time
	customers []string
	owned     []ticket.Instrument
}

// limits sets what the shop accepts of each joint.
func (m *maker) limits(ctx context.Context, b *sqlite.Bulk) error {
	b.SetTime(m.at)
	rate, err := quantity.ParseLeakRate(fmt.Sprintf("%gsccm", float64(limitSCCM)))
	errs := []error{err}
	for _, j := range joints {
		l := ledger.Limit{ID: ledger.NewID(), Joint: j[0] + "/" + j[1], Closure: closure, At: statedPa, Sign: "suction", Rate: rate, Set: m.at.UTC()}
		errs = append(errs, b.Append(ctx, l.Draft()))
	}
	return errors.Join(errs...)
}

const closure = "all keys closed"

// visit is one ticket from intake to closing.
func (m *maker) visit(ctx context.Context, b *sqlite.Bulk, open bool) error {
	m.at = m.at.Add(between)
	b.SetTime(m.at)
	joint := joints[m.random.IntN(len(joints))]
	t, err := b.OpenTicket(ctx, m.intake(joint))
	if err != nil {
		return err
	}
	if len(m.customers) == 0 || m.customers[len(m.customers)-1] != t.Customer.ID {
		m.customers = append(m.customers, t.Customer.ID)
	}
	m.owned = append(m.owned, t.Instrument)
	leak := math.Exp(m.random.NormFloat64()) * 4 // sccm
	if err := m.trial(ctx, b, t, ticket.AsFound, leak); err != nil {
		return err
	}
	b.SetTime(m.at.Add(15 * time.Minute))
	if _, err := b.AddWork(ctx, t.ID, ticket.Work{At: m.at.Add(15 * time.Minute), Joint: joint[1], Did: phrase(m.random)}); err != nil {
		return err
	}
	b.SetTime(m.at.Add(20 * time.Minute))
	if err := m.trial(ctx, b, t, ticket.AsLeft, leak/(2+4*m.random.Float64())); err != nil || open {
		return err
	}
	b.SetTime(m.at.Add(25 * time.Minute))
	t.Closed, t.Remark = m.at.Add(25*time.Minute), "plays again"
	return b.KeepTicket(ctx, t)
}

// intake is a new ticket: of an instrument that was here before, as two of three are, or of
// a new one; its customer may be known too.
func (m *maker) intake(joint [2]string) ticket.Ticket {
	t := ticket.Ticket{
		Opened: m.at, Joints: []string{joint[1]}, Complaint: phrase(m.random),
		Instrument: ticket.Instrument{Template: joint[0], Maker: name(m.random), Model: fmt.Sprintf("%c%d", 'A'+m.random.IntN(26), 1+m.random.IntN(9)),
			Serial: fmt.Sprintf("%06d", m.random.IntN(1e6))},
		Customer: ticket.Customer{Name: name(m.random) + " " + name(m.random), Contact: fmt.Sprintf("0999 %06d", m.random.IntN(1e6))},
	}
	if len(m.owned) > 0 && m.random.IntN(3) > 0 {
		if was := m.owned[m.random.IntN(len(m.owned))]; was.Template == joint[0] {
			t.Instrument = was
		}
	}
	if len(m.customers) > 0 && m.random.IntN(2) > 0 {
		t.Customer = ticket.Customer{ID: m.customers[m.random.IntN(len(m.customers))]}
	}
	return t
}

// trial writes three holds and their trial. One hold in a hundred is set aside.
func (m *maker) trial(ctx context.Context, b *sqlite.Bulk, t ticket.Ticket, when string, sccm float64) error {
	tr := ledger.Trial{ID: ledger.NewID(), Bench: "north", Instrument: t.Instrument.Template, Joint: t.Joints[0], Closure: closure,
		When: when, Ticket: t.ID, Of: t.Instrument.Template + "/" + t.Joints[0]}
	var void []ledger.Draft
	for range holdsPerTrial {
		id, err := m.hold(ctx, b, tr, sccm*(1+0.01*m.random.NormFloat64()))
		if err != nil {
			return err
		}
		tr.Holds = append(tr.Holds, id)
		if m.random.IntN(100) == 0 {
			void = append(void, ledger.VoidDraft(id, "a door slammed"))
		}
	}
	o := outcome(sccm)
	tr.Result = trial.Trial{Schema: trial.SchemaTrial, Holds: holdsPerTrial, Used: holdsPerTrial, Sign: o.Sign, At: statedPa,
		Joint: tr.Of, Closure: closure, LeakRate: o.LeakRate, SCCM: o.SCCM, Verdict: o.Verdict, Decision: o.Decision}
	for _, d := range append(void, tr.Draft()) {
		if err := b.Append(ctx, d); err != nil {
			return err
		}
	}
	return nil
}
