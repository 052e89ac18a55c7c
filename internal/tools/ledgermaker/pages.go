package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

// asked is how often each page is asked for, after once to no account.
const asked = 25

// pages starts the program on a ledger, asks it for every page and prints, for each, how
// long that took as its reader sees it and what the program spent on it.
func pages(ctx context.Context, program, path string, out io.Writer) (err error) {
	shown, err := addresses(ctx, path)
	if err != nil {
		return err
	}
	p, err := serve(ctx, program, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, p.stop()) }()
	fmt.Fprint(out, "| page | p50 ms | p95 ms | max ms | processor ms | KiB |\n| --- | --- | --- | --- | --- | --- |\n")
	for _, address := range shown {
		one, err := p.ask(ctx, address)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintf(out, "| %s | %s |\n", address.name, one); err != nil {
			return err
		}
	}
	return nil
}

// address is a page, and what it is called in the table.
type address struct{ name, path string }

// answers is how long a page took, shortest first.
type answers struct {
	took  []time.Duration
	spent time.Duration // of processor, by the program, a request; negative where the system does not say
	size  int           // bytes
}

// at returns the time within which a share of the answers came.
func (a answers) at(share float64) time.Duration {
	return a.took[min(len(a.took)-1, int(share*float64(len(a.took))))]
}

// String is the rest of a row of the table.
func (a answers) String() string {
	spent := "–"
	if a.spent >= 0 {
		spent = milliseconds(a.spent)
	}
	return fmt.Sprintf("%s | %s | %s | %s | %.0f", milliseconds(a.at(0.5)), milliseconds(a.at(0.95)), milliseconds(a.at(1)), spent, float64(a.size)/1024)
}

func milliseconds(d time.Duration) string { return fmt.Sprintf("%.1f", d.Seconds()*1e3) }

// ask asks for a page again and again.
func (p *program) ask(ctx context.Context, of address) (answers, error) {
	var a answers
	var before time.Duration
	for i := range 1 + asked {
		if i == 1 {
			before = processor(p.cmd.Process.Pid)
		}
		begun := time.Now()
		body, err := p.get(ctx, of.path)
		if err != nil {
			return a, err
		}
		if i > 0 {
			a.took = append(a.took, time.Since(begun))
		}
		a.size = len(body)
	}
	slices.Sort(a.took)
	a.spent = (processor(p.cmd.Process.Pid) - before) / asked
	if before < 0 {
		a.spent = -1
	}
	return a, nil
}

// processor returns what a process has spent of processors, in ticks of 10 ms; negative where
// the system has no /proc (proc(5)).
func processor(pid int) time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return -1
	}
	_, rest, _ := strings.Cut(string(stat), ") ") // the name in parentheses may hold anything
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return -1
	}
	user, err := strconv.ParseInt(fields[11], 10, 64)
	system, err2 := strconv.ParseInt(fields[12], 10, 64)
	if err != nil || err2 != nil {
		return -1
	}
	return time.Duration(user+system) * 10 * time.Millisecond
}

// get returns what the program answers.
func (p *program) get(ctx context.Context, path string) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(p.page, "/")+path, nil)
	if err != nil {
		return nil, err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err == nil && response.StatusCode != http.StatusOK {
		err = fmt.Errorf("ask for %s: %s", path, response.Status)
	}
	return body, err
}

// subject is what the pages of single things are asked of: a visit in the middle of the
// ledger, with its holds and trials.
type subject struct {
	newest, ticket ledger.TicketEntry
	older          string // the ticket before the hundredth page
	hold           string
	found, left    ledger.TrialEntry
}

// addresses returns all pages, those of single things of what the ledger has.
func addresses(ctx context.Context, path string) (all []address, err error) {
	db, err := sqlite.OpenReadOnly(ctx, path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	s, err := subjectOf(ctx, db)
	if err != nil {
		return nil, err
	}
	all = append(fixed(), s.single()...)
	for _, list := range []string{"/tickets", "/instruments", "/holds", "/trials"} {
		of := ""
		if list == "/tickets" {
			of = "&of=all"
		}
		for _, words := range []string{"oboe", s.ticket.ID, s.ticket.Instrument.Serial, s.ticket.Customer, "oboe fail", "m fail", "a b", "bel cor", "12 34", "t-1", "nobody"} {
			all = append(all, address{list + ", words “" + named(words, s) + "”", list + "?words=" + url.QueryEscape(words) + of})
		}
	}
	return all, nil
}

// named keeps what was made up at random out of the table.
func named(words string, s subject) string {
	switch words {
	case s.ticket.ID:
		return "a ticket's number"
	case s.ticket.Instrument.Serial:
		return "a serial number"
	case s.ticket.Customer:
		return "a customer's name"
	}
	return words
}

// fixed are the pages that are the same in every ledger.
func fixed() (all []address) {
	for _, path := range []string{
		"/", "/parts/holds", "/parts/rig", "/parts/next", "/parts/tiles", "/bench/lay", "/tickets", "/tickets?of=all", "/tickets/new",
		"/instruments", "/holds", "/holds?verdict=fail", "/holds?verdict=inconclusive&when=as_left", "/trials", "/trials?verdict=fail",
		"/trials?verdict=inconclusive&when=as_left", "/rig", "/limits", "/limits?propose=1&joint=oboe/upper", "/catalog", "/catalog/oboe",
		"/catalog/oboe/upper", "/setup", "/setup/find", "/cautions", "/api/v1/snapshot", "/api/v1/holds?limit=50", "/api/v1/rig", "/metrics",
		"/healthz", "/readyz",
	} {
		all = append(all, address{path, path})
	}
	return all
}

// single are the pages of single things, and those deep in the lists.
func (s subject) single() []address {
	pair := "found=" + s.found.ID + "&left=" + s.left.ID
	return []address{
		{"/tickets, page 100", "/tickets?of=all&before=" + s.older},
		{"/tickets, the middle", "/tickets?of=all&before=" + s.ticket.ID},
		{"/tickets/ID", "/tickets/" + s.ticket.ID},
		{"/tickets/ID/edit", "/tickets/" + s.ticket.ID + "/edit"},
		{"/tickets/ID/compare", "/tickets/" + s.ticket.ID + "/compare"},
		{"/instruments, the middle", "/instruments?before=" + s.ticket.Instrument.ID},
		{"/instruments/ID", "/instruments/" + s.ticket.Instrument.ID},
		{"/holds, the middle", "/holds?before=" + s.hold},
		{"/holds, the middle, fail", "/holds?verdict=fail&before=" + s.hold},
		{"/holds/ID", "/holds/" + s.hold},
		{"/holds/ID/trace.csv", "/holds/" + s.hold + "/trace.csv"},
		{"/trials, the middle", "/trials?before=" + s.found.ID},
		{"/trials, the middle, fail", "/trials?verdict=fail&before=" + s.found.ID},
		{"/trials/ID", "/trials/" + s.found.ID},
		{"/compare", "/compare?" + pair},
		{"/print/slip/ID", "/print/slip/" + s.ticket.ID},
		{"/print/label/ID", "/print/label/" + s.ticket.ID},
		{"/api/v1/holds/ID", "/api/v1/holds/" + s.hold},
	}
}

func subjectOf(ctx context.Context, db *sqlite.DB) (s subject, err error) {
	const hundredPages = 4000
	list, err := db.Tickets(ctx, ledger.TicketFilter{Limit: hundredPages})
	if err != nil {
		return s, err
	}
	if len(list) == 0 {
		return s, errors.New("the ledger has no tickets")
	}
	s.newest, s.older = list[0], list[len(list)-1].ID
	var first, last int
	if _, err := fmt.Sscanf("T-1001 "+s.newest.ID, "T-%d T-%d", &first, &last); err != nil {
		return s, fmt.Errorf("ticket %s has no number: %w", s.newest.ID, err)
	}
	middle, err := db.Tickets(ctx, ledger.TicketFilter{Limit: 1, Before: fmt.Sprintf("T-%d", min(last, (first+last)/2+1))})
	if err != nil || len(middle) == 0 {
		return s, errors.Join(fmt.Errorf("no ticket in the middle before %s", s.newest.ID), err)
	}
	s.ticket = middle[0]
	holds, err := db.Holds(ctx, ledger.Filter{Ticket: s.ticket.ID})
	if err != nil {
		return s, err
	}
	trials, err := db.Trials(ctx, ledger.Filter{Ticket: s.ticket.ID})
	if err != nil {
		return s, err
	}
	if len(holds) == 0 || len(trials) != 2 {
		return s, fmt.Errorf("ticket %s has %d holds and %d trials", s.ticket.ID, len(holds), len(trials))
	}
	slices.SortFunc(trials, func(a, b ledger.TrialEntry) int { return cmp.Compare(a.When, b.When) }) // as_found, as_left
	s.hold, s.found, s.left = holds[0].ID, trials[0], trials[1]
	return s, nil
}
