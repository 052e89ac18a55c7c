package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"boretight/internal/rig"
)

func TestWhatAResultUsedOfTheRigIsOneLine(t *testing.T) {
	t.Parallel()
	when := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	records := []rig.Record{
		{Kind: rig.KindCalibration, ID: "019ab8c2-7d41-7000-8000-000000000001", ValidFrom: when, Calibration: &rig.Calibration{}},
		{Kind: rig.KindBlank, ID: "019ab8c2-7d42-7000-8000-000000000002", ValidFrom: when, Blank: &rig.Blank{LeakRate: rig.Result{Measured: rig.Measured{Value: -3.6e-5, U: 1.8e-5}}}},
		{Kind: rig.KindVolume, ID: "019ab8c2-7d43-7000-8000-000000000003", ValidFrom: when, Volume: &rig.Volume{Method: "syringe", Result: rig.Result{Measured: rig.Measured{Value: 17.9e-6, U: 0.2e-6}}}},
		{Kind: rig.KindProof, ID: "019ab8c2-7d44-7000-8000-000000000004", ValidFrom: when, Proof: &rig.Proof{}},
	}
	var ids []string
	for _, r := range records[:3] {
		ids = append(ids, r.ID)
	}
	assert.Equal(t, "calibration of 25 Nov (019ab8c2-7d41), blank -0.020 ± 0.020 sccm (019ab8c2-7d42), volume by syringe 17.90 ± 0.40 ml (019ab8c2-7d43)", rigUsed(records, ids))
	assert.Empty(t, rigUsed(records, nil))
}
