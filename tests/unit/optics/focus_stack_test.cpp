// Tables: an independent program that chains the exact depth of field, c = .015 mm and an overlap of .3.
#include "engine/optics/focus_stack.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "engine/core/errors.h"
#include "engine/optics/depth.h"
#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

double mm(Length length) { return length / 1_mm; }

StackTask task_of(double focal_length_mm, double f_number, double near_mm, std::optional<double> far_mm) {
  StackTask task;
  task.lens = {Length(focal_length_mm * 1e-3), f_number, 1, 0_mm};
  task.circle_of_confusion = 15_um;
  task.near = Length(near_mm * 1e-3);
  if (far_mm) task.far = Length(*far_mm * 1e-3);
  return task;
}

// 60 mm: m, N; depth of field, step, frames for 10, 30 and 100 mm, quarter-wave depth, step on the image's
// side, in mm. The last two places say which steps are finer than a quarter wave.
TEST(FocusStack, ConstantMagnificationTable) {
  const struct {
    double m, N, depth, step;
    int frames[3];
    double quarter_wave, image_step;
    bool finer;
  } table[] = {{.05, 5.6, 70.615, 49.431, {1, 1, 2}, 30.425, .12358, false},
               {.1, 5.6, 18.484, 12.939, {1, 2, 8}, 8.3480, .12939, false},
               {.25, 5.6, 3.3601, 2.3521, {4, 13, 43}, 1.7248, .14700, false},
               {.5, 4, .72000, .50400, {20, 60, 198}, .31680, .12600, false},
               {.5, 5.6, 1.0080, .70561, {14, 43, 142}, .62093, .17640, false},
               {.5, 8, 1.4400, 1.0080, {10, 30, 99}, 1.2672, .25200, true},
               {1, 5.6, .33600, .23520, {43, 128, 425}, .27597, .23520, true}};
  const double depths[] = {10, 30, 100};
  for (const auto& row : table) {
    for (std::size_t k = 0; k < 3; ++k) {
      const StackPlan plan = rail_plan(task_of(60, row.N, 200, 200 + depths[k]), row.m);
      EXPECT_EQ(plan.frames.size(), static_cast<std::size_t>(row.frames[k])) << row.m << ' ' << row.N;
      EXPECT_EQ(plan.frames_at_constant_magnification, row.frames[k]);
      expect_digits(mm(*plan.frames[0].far - plan.frames[0].near), row.depth, 5);
      expect_digits(mm(plan.step), row.step, 5);
      expect_digits(mm(plan.image_side_step), row.image_step, 5);
      expect_digits(mm(plan.quarter_wave_depth), row.quarter_wave, 5);
      EXPECT_EQ(plan.finer_than_diffraction(), row.finer) << row.m << ' ' << row.N;
    }
  }
}

// 60 mm through 30 mm of depth, m at the front and N: frames, and by the rule at constant magnification.
TEST(FocusStack, FocusRingTakesFewerFrames) {
  const struct {
    double m, N;
    std::size_t frames;
    int constant;
  } table[] = {{.25, 8, 8, 9}, {.5, 5.6, 35, 43}, {.5, 8, 25, 30}, {1, 8, 65, 89}};
  for (const auto& row : table) {
    const double front = 60 * (1 + 1 / row.m);
    const StackPlan plan = focus_ring_plan(task_of(60, row.N, front, front + 30));
    EXPECT_EQ(plan.frames.size(), row.frames) << row.m << ' ' << row.N;
    EXPECT_EQ(plan.frames_at_constant_magnification, row.constant) << row.m << ' ' << row.N;
  }
}

// 12 mm f/5.6 from .3 m to infinity: 361.09, 506.51, 853.71 and a last one anywhere from the hyperfocal 1726
// mm.
TEST(FocusStack, Habitat) {
  const StackPlan plan = focus_ring_plan(task_of(12, 5.6, 300, std::nullopt));
  ASSERT_EQ(plan.frames.size(), 4u);
  const double focus[] = {361.09, 506.51, 853.71};
  for (std::size_t k = 0; k < 3; ++k) expect_digits(mm(plan.frames[k].focus), focus[k], 5);
  EXPECT_NEAR(mm(plan.frames[3].focus), 1726, .5);
  EXPECT_FALSE(plan.frames_at_constant_magnification);
  EXPECT_EQ(focus_ring_plan(task_of(12, 2.8, 300, std::nullopt)).frames.size(), 8u);
  EXPECT_EQ(focus_ring_plan(task_of(60, 8, 600, 3000)).frames.size(), 30u);
}

// What every plan promises: sharp from end to end with no gap, each frame's limits those of depth.h.
TEST(FocusStack, NoGap) {
  StackTask shortening = task_of(60, 5.6, 130, 170);
  shortening.close = CloseFocus{190_mm, 1};
  StackTask pupils = task_of(60, 4, 250, 330);
  pupils.lens.pupil_magnification = .7;
  pupils.overlap = 0;
  for (const StackTask& task : {shortening, pupils, task_of(12, 4, 100, std::nullopt)}) {
    const StackPlan plan = focus_ring_plan(task);
    ASSERT_GT(plan.frames.size(), 2u);
    EXPECT_NEAR(plan.frames.front().near / task.near, 1, 1e-9);
    EXPECT_EQ(plan.frames.back().far, task.far);
    for (std::size_t k = 0; k < plan.frames.size(); ++k) {
      const StackFrame& frame = plan.frames[k];
      const GaussianLens lens =
          task.close ? focused_at(task.lens, *task.close, frame.magnification) : task.lens;
      const DepthOfField depth = depth_of_field(lens, frame.magnification, task.circle_of_confusion);
      EXPECT_EQ(frame.rail, 0_mm);
      EXPECT_NEAR(frame.focus / pupil_distance(lens, frame.magnification), 1, 1e-12);
      EXPECT_NEAR((frame.focus - frame.near) / depth.near, 1, 1e-9);
      // The last one is held at the far end, which its own limit reaches.
      if (depth.far && frame.far) {
        EXPECT_NEAR((*frame.far - frame.focus) / *depth.far, 1, 1e-7);
      }
      if (k == 0) continue;
      const StackFrame& before = plan.frames[k - 1];
      // 1/near = 1/far + overlap (1/near - 1/far) of the frame before; the last one has no less.
      const double far = 1 / before.far->value(), near = 1 / before.near.value();
      const double shared = (1 / frame.near.value() - far) / (near - far);
      EXPECT_GE(shared, task.overlap - 1e-6);
      EXPECT_LE(shared, k + 1 < plan.frames.size() ? task.overlap + 1e-6 : 1);
    }
  }
}

// Closed form: a rail's frames share (DoF - step) and reach from end to end; the step is at most the asked
// one.
TEST(FocusStack, RailMovesTheCamera) {
  const StackPlan plan = rail_plan(task_of(60, 8, 170, 200), .5);
  ASSERT_EQ(plan.frames.size(), 30u);
  EXPECT_NEAR(mm(plan.frames.front().near), 170, 1e-9);
  EXPECT_NEAR(mm(*plan.frames.back().far), 200, 1e-9);
  // The plane in focus is a = 60 (2 + 1) = 180 mm from the pupil and its near limit .71713 mm before it.
  EXPECT_NEAR(mm(plan.frames.front().rail), 170 + .71713 - 180, 1e-5);
  const double step = mm(plan.frames[1].rail - plan.frames[0].rail);
  EXPECT_NEAR(step, (30 - 1.4400) / 29, 1e-5);
  EXPECT_LE(step, mm(plan.step));
  for (const StackFrame& frame : plan.frames) EXPECT_NEAR(mm(frame.focus - frame.rail), 180, 1e-9);
}

// One frame is enough: equal discs at both ends, the focus at the harmonic mean; a rail leaves as much before
// as behind.
TEST(FocusStack, OneFrameIsBalanced) {
  const StackPlan plan = focus_ring_plan(task_of(12, 8, 1000, 2000));
  ASSERT_EQ(plan.frames.size(), 1u);
  EXPECT_NEAR(mm(plan.frames[0].focus), 4000 / 3., 1e-9);
  const StackPlan rail = rail_plan(task_of(60, 8, 179, 180), .5);
  ASSERT_EQ(rail.frames.size(), 1u);
  EXPECT_NEAR(mm(rail.frames[0].near + *rail.frames[0].far), 359, 1e-9);
}

TEST(FocusStack, Refuses) {
  const auto words = [](auto&& plan) -> std::string {
    try {
      plan();
    } catch (const Refusal& refusal) {
      return refusal.what();
    }
    return "nothing";
  };
  StackTask task = task_of(60, 2.8, 120, 400);
  task.circle_of_confusion = 2_um;
  EXPECT_NE(words([&] { focus_ring_plan(task); }).find("2000 frames"), std::string::npos);
  EXPECT_NE(words([&] { rail_plan(task, 2); }).find("2000 frames"), std::string::npos);
  EXPECT_NE(words([&] { focus_ring_plan(task_of(60, 8, 50, 80)); }).find("near"), std::string::npos);
  EXPECT_NE(words([&] { focus_ring_plan(task_of(60, 8, 200, 200)); }).find("beyond"), std::string::npos);
  EXPECT_NE(words([&] { rail_plan(task_of(60, 8, 200, std::nullopt), .5); }).find("infinity"),
            std::string::npos);
  task = task_of(60, 8, 200, 220);
  for (double overlap : {-.1, 1., double(NAN)}) {
    task.overlap = overlap;
    EXPECT_NE(words([&] { focus_ring_plan(task); }).find("overlap"), std::string::npos) << overlap;
  }
}

}  // namespace
}  // namespace undercap
