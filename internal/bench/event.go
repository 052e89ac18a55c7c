package bench

import (
	"strconv"
	"strings"
	"time"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

// EventKind names an event on the stream and in server-sent events.
type EventKind string

// The kinds of event. Their JSON data is the type named.
const (
	EventReading  EventKind = "reading"  // ReadingData: readings since the last, at most 50 ms late
	EventState    EventKind = "state"    // StateData: gauge or phase changed
	EventEstimate EventKind = "estimate" // EstimateData: running answer while holding
	EventHold     EventKind = "hold"     // HoldData: a hold ended and is in the ledger
	EventTrial    EventKind = "trial"    // TrialData: the trial so far
)

// Event is one thing that happened at the bench.
type Event struct {
	ID   uint64    `json:"id"`
	Kind EventKind `json:"-"`
	Data any       `json:"data"`
}

// Sample is one reading as the page draws it.
type Sample struct {
	// T in seconds on the gauge's stream clock.
	T float64 `json:"t"`
	// Pressure in Pa against the zero of the last rest where known.
	Pressure float64 `json:"p"`
}

// ReadingData carries readings of one gauge.
type ReadingData struct {
	Gauge    string   `json:"gauge"`
	Readings []Sample `json:"readings"`
}

// StateData is where one gauge and its hold are.
type StateData struct {
	Gauge string `json:"gauge"`
	// Up is false while the gauge is not heard.
	Up bool `json:"up"`
	// Problem says in a sentence why the gauge is not up, or what else is wrong; mostly empty.
	Problem string `json:"problem,omitempty"`
	// Phase is rest, drawing, settling, holding or venting.
	Phase string `json:"phase"`
	// Since is when the phase began, in seconds on the gauge's stream clock.
	Since float64 `json:"since_s"`
	// Isolation is when the joint was shut off, same clock; 0 outside settling and holding.
	Isolation float64 `json:"isolation_s,omitempty"`
	// RestLevel in Pa, the gauge's zero.
	RestLevel float64 `json:"rest_level_pa"`
	// Warning is a caution that must be seen now ("over 6 kPa: let it down").
	Warning string `json:"warning,omitempty"`
	// Series counts what was laid on the bench on this gauge: when it changes, the next
	// hold is of something else, and a snapshot says of what.
	Series uint64 `json:"series"`
}

// TrialData is the trial to which a hold of a gauge was added last, or from which one was
// taken away.
type TrialData struct {
	Gauge string `json:"gauge"`
	trial.Trial
}

// EstimateData is the running answer while holding.
type EstimateData struct {
	Gauge   string        `json:"gauge"`
	Held    float64       `json:"held_s"`
	Outcome trial.Outcome `json:"outcome"`
	// Curve is the fitted curve, run on to where it is heading.
	Curve []decay.Point `json:"curve"`
	// Wedge is the curve of a joint just within the limit from this isolation on; empty without a limit.
	Wedge []decay.Point `json:"wedge,omitempty"`
}

// HoldData is a finished hold as the page lists it.
type HoldData struct {
	trial.Outcome
	// On is what was held.
	On Setup `json:"on,omitzero"`
	// Ended is the wall time of the hold's end, UTC.
	Ended time.Time     `json:"ended"`
	Curve []decay.Point `json:"curve,omitempty"`
	// Trace is the hold's readings thinned to at most 600 points for drawing.
	Trace []Sample `json:"trace,omitempty"`
	// Unrecorded says why the hold is not in the ledger; mostly empty.
	Unrecorded string `json:"unrecorded,omitempty"`
	// Voided says why the hold was set aside; mostly empty.
	Voided string `json:"voided,omitempty"`
	// Unended is [BeingMeasured] or [Interrupted] of a stored hold that has no result for
	// it; mostly empty.
	Unended string `json:"unended,omitempty"`
}

// Why a stored hold has no result, in the words for people.
const (
	BeingMeasured = "being measured"
	Interrupted   = "interrupted"
)

// GaugeState is one gauge in a [Snapshot].
type GaugeState struct {
	Name    string `json:"name"`
	Address string `json:"address"`
	Serial  string `json:"serial,omitempty"`
	StateData
	// Setup is what lies on the bench on this gauge.
	Setup Setup `json:"setup"`
	// Estimate is the latest of the hold in progress; nil while there is none.
	Estimate *EstimateData `json:"estimate,omitempty"`
	// Trial is that of what lies on the bench; nil before its first hold.
	Trial *trial.Trial `json:"trial,omitempty"`

	Pressure   float64 `json:"pressure_pa"`
	Readings   uint64  `json:"readings_total"`
	Lost       uint64  `json:"lost_total"`
	Damaged    uint64  `json:"damaged_total"`
	Reconnects uint64  `json:"reconnects_total"`
	// Port is the serial port that is open now, which may have another name than the
	// address gave.
	Port string `json:"port,omitempty"`
	// Drift is by how many parts in a million the gauge's clock is fast, with its
	// standard uncertainty; nil in the first half minute and where it has no clock.
	Drift *trial.Value `json:"clock_drift_ppm,omitempty"`
}

// Setup is what the bench measures against, as the page shows it.
type Setup struct {
	Bench      string  `json:"bench"`
	Instrument string  `json:"instrument,omitempty"`
	Joint      string  `json:"joint,omitempty"`
	Section    string  `json:"section,omitempty"`
	Closure    string  `json:"closure,omitempty"` // what is plugged, taped or pressed
	When       string  `json:"when,omitempty"`    // as_found or as_left
	Ticket     string  `json:"ticket,omitempty"`
	LimitSCCM  float64 `json:"limit_sccm,omitempty"`
	Limit      float64 `json:"limit_pa_m3_s,omitempty"` // the same as a throughput
	// Standard tells that the limit was stated in sccm: as a throughput it hangs on the
	// temperature of the gas, taken as 20 °C where none was told.
	Standard bool    `json:"limit_standard,omitempty"`
	Ambient  float64 `json:"ambient_pa,omitempty"` // of the room, as told; 0 when not
	VolumeM3 float64 `json:"volume_m3,omitempty"`
	At       float64 `json:"at_pa"`
}

// Name returns what is held as people name it, INSTRUMENT/JOINT; empty when not told.
func (s Setup) Name() string {
	if s.Instrument == "" {
		return s.Joint
	}
	return s.Instrument + "/" + s.Joint
}

// Same reports whether two setups are of one thing on the bench, whatever is told of it.
func (s Setup) Same(other Setup) bool {
	return s.Instrument == other.Instrument && s.Joint == other.Joint && s.Section == other.Section &&
		s.Closure == other.Closure && s.When == other.When && s.Ticket == other.Ticket
}

// whole returns joint and section in one name.
func (s Setup) whole() string { return strings.TrimSpace(s.Name() + " " + s.Section) }

// Subject returns joint, section and closure in one name, which is what a volume on
// record is of: oboe/upper, section "bell", closure "all keys". Section and closure are
// named and quoted, so that one is never taken for the other.
func (s Setup) Subject() string {
	subject := s.Name()
	if s.Section != "" {
		subject += ", section " + strconv.Quote(s.Section)
	}
	if s.Closure != "" {
		subject += ", closure " + strconv.Quote(s.Closure)
	}
	return subject
}

// Snapshot is the present state of the bench. It is a copy: the reader may keep it.
type Snapshot struct {
	Started  time.Time         `json:"started"`
	Bench    string            `json:"bench"` // its name
	Gauges   []GaugeState      `json:"gauges"`
	Rigs     []RigState        `json:"rigs,omitempty"` // in the order of the gauges; none without records to look at
	Holds    []HoldData        `json:"holds"`          // newest first, at most 50
	Verdicts map[string]uint64 `json:"verdicts"`       // holds by verdict: pass fail inconclusive none
	Ledger   LedgerState       `json:"ledger"`
	// Dropped counts the events that subscribers lost because they did not keep up.
	Dropped uint64 `json:"events_dropped_total"`
}

// LedgerState is how the recording goes.
type LedgerState struct {
	Path    string  `json:"path"`
	Records int64   `json:"records"`
	Lag     float64 `json:"lag_s"`
	Problem string  `json:"problem,omitempty"`
	// Copies tells of the daily copies; nil when none are made.
	Copies *CopiesState `json:"copies,omitempty"`
}

// CopiesState is how the daily copies of the ledger fare.
type CopiesState struct {
	Folder string `json:"folder"`
	// Newest is when the newest copy was made, UTC; zero when there is none yet.
	Newest time.Time `json:"newest,omitzero"`
	// Age of the newest in seconds; 0 when there is none yet.
	Age float64 `json:"age_s"`
	// Kept is how many copies there are.
	Kept int `json:"kept"`
	// Problem says why the last try gave no copy; mostly empty.
	Problem string `json:"problem,omitempty"`
}
