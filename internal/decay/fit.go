package decay

import "boretight/internal/hold"

// Fit estimates the leakage rate of a hold.
func Fit(h *hold.Hold, s Setup) Result { return Result{Status: Refused, Method: Method} }
