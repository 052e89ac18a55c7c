package guided

import (
	"errors"
	"fmt"

	"boretight/internal/rig"
)

// AddedLeak leads through holds of a joint alone and as many with a reference leak added,
// which tell its volume.
type AddedLeak struct {
	staged
	leak rig.Certificate
	dead rig.Measured // of leak and fitting, m³
}

// NewAddedLeak returns the procedure of a number of holds each way. Told.At, if it is
// not told, is that of the certificate.
func NewAddedLeak(t Told, leak rig.Certificate, dead rig.Measured, holds int) (*AddedLeak, error) {
	switch {
	case t.Joint == "":
		return nil, errors.New("lead a volume: the joint is not told")
	case holds < 1:
		return nil, fmt.Errorf("lead a volume: %d holds: want at least 1, or better 3", holds)
	}
	return &AddedLeak{
		staged: staged{
			series: series{told: t.atCertificate(leak)}, title: "Volume of " + t.Joint, each: holds,
			stages: []string{
				"joint plugged and closed, the reference leak shut or off",
				"the same with the reference leak " + leak.ID + " open",
			},
		},
		leak: leak, dead: dead,
	}, nil
}

// Record implements [Procedure].
func (a *AddedLeak) Record() (rig.Record, error) {
	without, err := a.stage(0)
	if err != nil {
		return rig.Record{}, err
	}
	with, err := a.stage(1)
	if err != nil {
		return rig.Record{}, err
	}
	temperature := (without.temperature + with.temperature) / 2
	volume, err := rig.AddedLeak{
		Leak: a.leak, Room: a.told.room(a.sign, temperature),
		Without: without.rate, With: with.rate, Dead: a.dead,
	}.Volume()
	if err != nil {
		return rig.Record{}, err
	}
	notes := append(a.told.notes(temperature), without.doubts...)
	notes = append(append(notes, with.doubts...), volume.Doubts...)
	return rig.Record{
		Kind: rig.KindVolume, Rig: a.told.Rig, Joint: a.told.Joint, Holds: a.ids(), Leak: a.leak.ID,
		Notes: notes, Volume: &volume,
	}, nil
}
