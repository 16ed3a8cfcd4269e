// What the sensor's noise makes of one exposure, as it is, one invocation a pixel.

layout(local_size_x = 64) in;

#include "lib/random.glsl"
#include "lib/sensor.glsl"

layout(std430, binding = 0) writeonly buffer ReportedBlock { float reported[]; };  // lx s

uniform float exposure, full_exposure;
uniform int channel, total;

void main() {
  uint i = gl_GlobalInvocationID.y * 65536u + gl_GlobalInvocationID.x;
  if (i < uint(total)) reported[i] = sensed(exposure, full_exposure, i, uint(channel));
}
