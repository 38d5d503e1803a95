// A small plan for tests: a pair of mains, two front fills on one circuit and a sub; the venue is invented.
#pragma once

#include <string>

namespace proofwalk::plan {

inline const std::string example_text = R"(format = "proofwalk.plan/1"
name = "Example Hall"
[air]
temperature_c = 18.0
humidity_pct = 60.0
[drive]
latency_ms = 1.8
[[area]]
id = "floor"
near = [3.0, 0.0, 1.2]
far = [21.0, 0.0, 1.2]
near_width_m = 16.0
far_width_m = 20.0
[[model]]
id = "wide"
coverage_h_deg = 90.0
coverage_v_deg = 60.0
aim_band_hz = [2000.0, 8000.0]
range_hz = [60.0, 18000.0]
size_m = [0.40, 0.70, 0.42]
[[model]]
id = "sub"
pattern = "omni"
aim_band_hz = [40.0, 80.0]
range_hz = [35.0, 120.0]
[[box]]
id = "M1"
model = "wide"
at = [0.0, 6.0, 4.5]
pan_deg = -8.0
tilt_deg = -12.0
output = 1
[[box]]
id = "M2"
model = "wide"
at = [0.0, -6.0, 4.5]
pan_deg = 8.0
tilt_deg = -12.0
gain_db = -1.5
delay_ms = 2.0
output = 2
[[box]]
id = "F1"
model = "wide"
at = [1.0, 2.0, 1.0]
circuit = "FF"
output = 3
[[box]]
id = "F2"
model = "wide"
at = [1.0, -2.0, 1.0]
circuit = "FF"
output = 3
[[box]]
id = "S"
model = "sub"
at = [0.5, 0.0, 0.5]
output = 4
[[array]]
id = "mains"
kind = "uncoupled"
boxes = ["M1", "M2"]
[[array]]
id = "fills"
kind = "uncoupled"
boxes = ["F1", "F2"]
[[array]]
id = "low"
kind = "uncoupled"
boxes = ["S", "M1"]
band_hz = [60.0, 120.0]
[[position]]
id = "p1"
at = [14.0, 4.0, 1.2]
serves = [{ role = "on-axis", boxes = ["M1"] }]
[[position]]
id = "p2"
at = [14.0, -4.0, 1.2]
serves = [{ role = "on-axis", boxes = ["M2"] }]
[[position]]
id = "p3"
at = [10.2, 0.0, 1.2]
place_u_m = 0.05
serves = [{ role = "crossover", boxes = ["M1", "M2"] }, { role = "right-edge", boxes = ["M1"] }]
[[position]]
id = "p4"
at = [4.0, 0.0, 1.2]
serves = [{ role = "on-axis", boxes = ["F1", "F2"] }, { role = "on-axis", boxes = ["S"] }, { role = "crossover", boxes = ["S", "M1"] }]
)";

}  // namespace proofwalk::plan
