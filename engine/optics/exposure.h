// Exposure arithmetic: settings, what a meter would say, and where luminous exposures land on the sensor.
//
//   N, N_w   marked and working f-number     t   shutter time     S   ISO speed, arithmetic
//   EV100    log2(N^2 / t) - log2(S / 100), a pure number; one more is half the light
// Mid-grey is H = 10 / S and the raw clip H = 78 / S, 2.96 stops apart; the display clips at white,
// elsewhere. Sources: ISO 2720:1974 (meter constants K = 12.5 cd/m2, C = 250 lx), ISO 12232:2006 (10 and 78
// lx s), from memory.
#pragma once

#include "engine/core/quantities.h"

namespace undercap {

struct ExposureSettings {
  double f_number = 8;
  Duration shutter;
  double iso = 100;
};

double ev100(const ExposureSettings& settings);

// Reflected: N^2/t = L S / K. Incident: N^2/t = E S / C.
Luminance luminance_from_ev100(double ev100);
double ev100_from_luminance(Luminance luminance);
Illuminance illuminance_from_ev100(double ev100);
double ev100_from_illuminance(Illuminance illuminance);

// The light on a grey card that a camera meters with these settings: E = 250 N^2 / (t S). With C = 250 and K
// = 12.5 that card sends back 15.7 %; one of 18 % reads .2 stop brighter.
Illuminance grey_card_illuminance(const ExposureSettings& settings);

// The time at which such a card comes out right in that light: t = 250 N^2 / (E S). N is the working
// f-number where the camera is close.
Duration grey_card_time(Illuminance light, double f_number, double iso);

// A flash of this guide number (m, at ISO 100) by what it does far away, cd s along its axis: it exposes a
// subject at d rightly at the f-number N = GN / d, and N^2 = H S / C, so that I t = C GN^2 / 100; and what so
// many cd s give there.
double flash_candela_seconds(Length guide_number);
LuminousExposure flash_exposure(double candela_seconds, Length distance);

LuminousExposure mid_grey_exposure(double iso);  // 10 / S
LuminousExposure raw_clip_exposure(double iso);  // 78 / S

// log2(H S / 10): how far above mid-grey; minus infinity for no light.
Stops stops_above_mid_grey(LuminousExposure exposure, double iso);

// H = E t on the sensor, and the shutter time that makes a mean illuminance come to the wanted exposure.
LuminousExposure exposure_from_illuminance(Illuminance image, Duration shutter);
Duration shutter_for_exposure(LuminousExposure wanted, Illuminance mean_image);

// H = q L t / N_w^2. The standard's q = .65 stands for (pi/4) x transmission .9 x vignetting .98 x cos^4 of
// 10 degrees; the renderer has a lens of its own and does not use it.
LuminousExposure focal_plane_exposure(Luminance object, double working_f_number, Duration shutter,
                                      double q = 0.65);

// The luminance that reaches the raw clip with q = .65: 120 N_w^2 / (S t).
Luminance saturation_luminance(double working_f_number, Duration shutter, double iso);

// Longest shutter time held in the hand: 2^stops / (k f (1 + m)), f in mm. Common practice, no source: k = 1
// to 2. The (1 + m) is exact for a pure rotation; shifting the camera dominates near 1:1 and no stabiliser
// rating covers it.
Duration hand_held_limit(double hand_rule, Length focal_length, double magnification, Stops stabiliser);

}  // namespace undercap
