#include "engine/core/quantities.h"

#include <gtest/gtest.h>

#include <concepts>
#include <numbers>
#include <type_traits>

using namespace undercap;

namespace {

template <class A, class B>
concept Adds = requires(A a, B b) {
  a + b;
};
template <class A, class B>
concept Subtracts = requires(A a, B b) {
  a - b;
};
template <class A, class B>
concept Multiplies = requires(A a, B b) {
  a* b;
};
template <class A, class B>
concept Divides = requires(A a, B b) {
  a / b;
};
template <class A, class B>
concept Compares = requires(A a, B b) {
  a < b;
};
template <class A, class B>
concept Equates = requires(A a, B b) {
  a == b;
};

// What must not compile.
static_assert(!Adds<Illuminance, Length> && !Subtracts<Illuminance, Length>);
static_assert(!Adds<Illuminance, Luminance>, "light that arrives is not light that leaves");
static_assert(!Compares<Illuminance, LuminousExposure> && !Equates<Angle, Stops>);
static_assert(!Divides<Flux, Intensity>, "the factor between them is an angle, and has a law of its own");
static_assert(!Multiplies<Length, Length> && !Multiplies<Illuminance, Duration>,
              "products are named functions");
static_assert(!Adds<Length, double> && !Adds<double, Length> && !Compares<Length, double> &&
              !Equates<Length, double>);
static_assert(!Divides<double, Length>);
static_assert(!std::convertible_to<double, Length> && !std::convertible_to<Length, double>);
static_assert(!std::constructible_from<Length, Angle> && !std::assignable_from<Length&, Angle>);
static_assert(!std::is_same_v<ColourTemperature, Stops>);

// What must.
static_assert(Adds<Length, Length> && Compares<Length, Length> && Multiplies<double, Length> &&
              Divides<Length, double>);
static_assert(std::is_same_v<decltype(1_mm / 1_m), double>, "a ratio of two like quantities is a number");
static_assert(std::constructible_from<Length, double>);
static_assert(sizeof(Length) == sizeof(double) && std::is_trivially_copyable_v<Length>);

}  // namespace

// The literals in SI (BIPM SI brochure, 9th edition, tables 2, 4 and 7); the scales are powers of ten rounded
// to double.
TEST(Quantities, LiteralsAreSi) {
  EXPECT_DOUBLE_EQ((90_mm).value(), 0.09);
  EXPECT_DOUBLE_EQ((3.76_um).value(), 3.76e-6);
  EXPECT_DOUBLE_EQ((1.5_m).value(), 1.5);
  EXPECT_DOUBLE_EQ((180_deg).value(), std::numbers::pi);
  EXPECT_DOUBLE_EQ((0.5_rad).value(), 0.5);
  EXPECT_DOUBLE_EQ((2_s).value(), 2);
  EXPECT_DOUBLE_EQ((120_lm).value(), 120);
  EXPECT_DOUBLE_EQ((2.5_cd).value(), 2.5);
  EXPECT_DOUBLE_EQ((500_lx).value(), 500);
  EXPECT_DOUBLE_EQ((0.125_cd_m2).value(), 0.125);
  EXPECT_DOUBLE_EQ((0.05_lxs).value(), 0.05);
  EXPECT_DOUBLE_EQ((6504_K).value(), 6504);
  EXPECT_DOUBLE_EQ((1.5_stops).value(), 1.5);
}

TEST(Quantities, ArithmeticIsThatOfTheirNumbers) {
  EXPECT_DOUBLE_EQ((1_m + 20_mm - 1_mm).value(), 1.019);
  EXPECT_DOUBLE_EQ((-(2_m)).value(), -2);
  EXPECT_DOUBLE_EQ((3 * 2_lx * 0.5 / 4).value(), 0.75);
  EXPECT_DOUBLE_EQ(90_mm / 1_mm, 90);
  EXPECT_DOUBLE_EQ(90_deg / 1_rad, std::numbers::pi / 2);
  EXPECT_EQ(Length().value(), 0);
}

TEST(Quantities, OrderIsThatOfTheirNumbers) {
  EXPECT_LT(999_mm, 1_m);
  EXPECT_GT(1_lx, 0.5_lx);
  EXPECT_EQ(1000_mm, 1_m);
  EXPECT_NE(1_s, 2_s);
}
