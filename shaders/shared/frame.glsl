// The numbers of one view, written by the CPU and read by the kernel. This file is included by both languages, so the
// struct is written once; only vec4 and ivec4 are used, which std140 lays
// out alike. A uniform block: software OpenGL reads it once for all lanes, shader storage lane by lane. Lengths in metres.
struct Frame {
  vec4 pupil;         // centre of the entrance pupil; w = distance to the plane in focus, along the axis
  vec4 right;         // unit; w = half the frame width / equivalent image distance
  vec4 up;            // unit; w = half the frame height / equivalent image distance
  vec4 forward;       // unit; w = distance along the axis at which camera rays begin (the barrel's front)
  vec4 window;        // part of the frame that the picture covers, 0..1: left, top, width, height
  vec4 meter;         // position of an incident meter
  vec4 meter_normal;  // unit
  vec4 sun;           // direction to the sun; w = 2 (1 - cosine of its angular radius)
  ivec4 size;         // width, height of the film; first row and row count of this dispatch
  ivec4 counts;       // light groups, iris vertices, lamps, emissive triangles
  ivec4 groups;       // group numbers of sky, sun, glow (-1 = none) and of the first lamp
  ivec4 sky;          // side of the sky maps; group number of the leaves' light (-1 = none); mode; flags
  vec4 totals;        // sum of emission x area of the emissive triangles; 1 / the sky map's sum of luminance x solid
                      // angle, the same of the leaves; share of the iris about its middle that no ray goes through
  vec4 film;          // what a film of water sends back down of diffuse light; side of the gap layer; alpha
                      // of the film's coat; rest free
  vec4 lens;          // a rim before the pupil: its distance and its radius (0 = none); spherical aberration: shift
                      // of a ray from the pupil's edge, m; radius of the pupil's equal disc
  vec4 polariser;     // direction that it lets swing, unit, in the world; 0 = none
  vec4 gaps;          // the gap layer's south-west corner, the side of a cell, its height
};
