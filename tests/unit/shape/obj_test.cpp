#include <fmt/format.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/obj_check.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

class Obj : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ =
        std::filesystem::temp_directory_path() /
        ("undercap obj " + std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
  }

  Mesh load(const std::string& obj, KeyValues changes = {}) const {
    write("shape.obj", obj);
    changes.insert({{"file", (folder_ / "shape.obj").string()}});
    return testing::build_with("mesh", std::move(changes));
  }

  // The text of the refusal, which must come.
  std::string refusal(const std::string& obj) const {
    try {
      load(obj);
    } catch (const Refusal& refused) {
      return refused.what();
    }
    return "was not refused";
  }

  void expect_refused(const std::string& obj, const std::string& place, const std::string& words) const {
    const std::string said = refusal(obj);
    EXPECT_NE(said.find(place), std::string::npos) << said;
    EXPECT_NE(said.find(words), std::string::npos) << said;
  }

  std::filesystem::path folder_;
};

const std::string square = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n";
const std::string cube =
    "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1\nv 0 1 1\n"
    "f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 3 4 8 7\nf 2 3 7 6\nf 1 5 8 4\n";

TEST_F(Obj, QuadsAndHollowPolygonsKeepTheirArea) {
  EXPECT_NEAR(surface_area(load(square + "f 1 2 3 4\n")), 1, 1e-6);
  // An L of six corners: a 2 x 2 square without one quarter, area 3.
  EXPECT_NEAR(surface_area(load("v 0 0 0\nv 2 0 0\nv 2 1 0\nv 1 1 0\nv 1 2 0\nv 0 2 0\nf 1 2 3 4 5 6\n")), 3,
              1e-6);
}

TEST_F(Obj, UnitAndUpAxisAreApplied) {
  const std::string tall = "v 0 0 0\nv 1 0 0\nv 0 5 2\nf 1 2 3\n";
  const auto y_up = testing::extent(load(tall, {{"unit", std::string("mm")}, {"up", std::string("y")}}));
  EXPECT_NEAR(y_up.high.z, 0.005, 1e-9);
  EXPECT_NEAR(y_up.low.y, -0.002, 1e-9);  // +z of the file is the front, which is -y here
  const auto z_up = testing::extent(load(tall, {{"unit", std::string("in")}, {"up", std::string("z")}}));
  EXPECT_NEAR(z_up.high.y, 5 * 0.0254, 1e-7);
  EXPECT_NEAR(z_up.high.z, 2 * 0.0254, 1e-7);
}

TEST_F(Obj, TurningKeepsFacesOutward) {
  for (const char* up : {"y", "z"}) {
    const Mesh mesh = load(cube, {{"up", std::string(up)}});
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_NEAR(testing::signed_volume(mesh), 1, 1e-5);
  }
}

TEST_F(Obj, NormalsOfTheFileAreKept) {
  const Mesh mesh =
      load("v 0 0 0\nv 1 0 0\nv 0 1 0\nvn 0 3 4\nf 1//1 2//1 3//1\n", {{"up", std::string("z")}});
  for (const glm::vec3& normal : mesh.normal) EXPECT_LT(glm::length(normal - glm::vec3(0, .6f, .8f)), 1e-6f);
}

TEST_F(Obj, MadeNormalsAreFlatOnACubeAndSmoothOnAShallowRoof) {
  const Mesh sharp = load(cube, {{"up", std::string("z")}});
  EXPECT_EQ(sharp.position.size(), 24u);
  EXPECT_DOUBLE_EQ(testing::share_of_normals_in_front(sharp), 1);
  // Slopes of atan 0.2 = 11 degrees to both sides of a ridge: one normal, straight up, along it.
  const Mesh roof = load("v -1 0 0\nv -1 1 0\nv 0 0 0.2\nv 0 1 0.2\nv 1 0 0\nv 1 1 0\nf 1 3 4 2\nf 3 5 6 4\n",
                         {{"up", std::string("z")}});
  EXPECT_EQ(roof.position.size(), 6u);
  for (std::size_t i = 0; i < roof.position.size(); ++i) {
    if (roof.position[i].x == 0) {
      EXPECT_GT(roof.normal[i].z, 0.99999f);
    }
  }
}

TEST_F(Obj, PartsAreTheMaterialsAndCarryTheirColour) {
  write("shape.mtl", "newmtl bark\nKd 0.1 0.2 0.3\nnewmtl plain\nNs 3\n");
  const Mesh mesh =
      load("mtllib shape.mtl\n" + square + "f 1 2 3\nusemtl bark\nf 1 3 4\nusemtl plain\nf 2 3 4\n");
  ASSERT_EQ(mesh.parts.size(), 3u);
  EXPECT_EQ(mesh.parts[0].name, "surface");
  EXPECT_EQ(mesh.parts[1].name, "bark");
  ASSERT_TRUE(mesh.parts[1].reflectance.has_value());
  EXPECT_LT(glm::length(*mesh.parts[1].reflectance - glm::vec3(.1f, .2f, .3f)), 1e-6f);
  EXPECT_EQ(mesh.parts[2].name, "plain");
  EXPECT_FALSE(mesh.parts[2].reflectance.has_value());
}

TEST_F(Obj, MaterialsWithoutAnMtlFileStillNameTheParts) {
  const Mesh mesh = load(square + "usemtl skin\nf 1 2 3\n");
  ASSERT_EQ(mesh.parts.size(), 1u);
  EXPECT_EQ(mesh.parts[0].name, "skin");
}

TEST_F(Obj, WindowsLineEndsAndNegativeIndicesAreRead) {
  EXPECT_NEAR(surface_area(load("v 0 0 0\r\nv 1 0 0\r\nv 0 1 0\r\nf -3 -2 -1\r\n")), 0.5, 1e-6);
}

TEST_F(Obj, BadIndicesAreRefusedWithTheirLine) {
  expect_refused(square + "f 1 2 5\n",
                 "shape.obj:5: ", "index 5 in corner '5' is out of range: the file has 4");
  expect_refused(square + "f 1 2 0\n", "shape.obj:5: ", "index 0");
  expect_refused(square + "\nf 1 2 -5\n", "shape.obj:6: ", "out of range");
  expect_refused(square + "f 1 2 3/1\n", "shape.obj:5: ", "0 texture places");
  expect_refused(square + "f 1 2 3//2\n", "shape.obj:5: ", "0 normals");
  expect_refused(square + "f 1 2 three\n", "shape.obj:5: ", "'three' is not a corner");
  expect_refused(square + "f 1 2\n", "shape.obj:5: ", "at least 3 corners");
}

TEST_F(Obj, BadNumbersAreRefusedWithTheirLine) {
  expect_refused("v 0 0 zero\n" + square + "f 1 2 3\n", "shape.obj:1: ", "'zero' is not a finite number");
  expect_refused("# first\nv 0 nan 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "shape.obj:2: ", "'nan'");
  expect_refused("v 0 1e999 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "shape.obj:1: ", "'1e999'");
  expect_refused("v 0 1e12 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "shape.obj:1: ", "too large");
  expect_refused("v 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "shape.obj:1: ", "2 numbers where 3");
}

TEST_F(Obj, EmptyAndFlatFilesAreRefused) {
  expect_refused("", "shape.obj: ", "no face");
  expect_refused(square, "shape.obj: ", "no face");
  expect_refused("v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n", "shape.obj: ", "no face with an area");
  EXPECT_THROW(testing::build_with("mesh", {{"file", folder_.string()}}), Refusal);
  EXPECT_THROW(testing::build_with("mesh", {{"file", (folder_ / "none.obj").string()}}), Refusal);
}

TEST_F(Obj, MaterialFilesStayInTheFolder) {
  expect_refused("mtllib /etc/passwd\n" + square + "f 1 2 3\n", "shape.obj:1: ", "must be relative");
  expect_refused(square + "mtllib a/../../x.mtl\nf 1 2 3\n", "shape.obj:5: ", "must be relative");
  expect_refused("mtllib C:\\x.mtl\n" + square + "f 1 2 3\n", "shape.obj:1: ", "must be relative");
  expect_refused("mtllib none.mtl\n" + square + "f 1 2 3\n", "shape.obj:1: ", "none.mtl");
  write("far.mtl", "newmtl skin\nmap_Kd -s 1 1 1 ../wood.png\n");
  expect_refused("mtllib far.mtl\n" + square + "f 1 2 3\n", "far.mtl:2: ", "must be relative");
}

TEST_F(Obj, BadMaterialsAreRefusedWithTheirLine) {
  write("bad.mtl", "newmtl skin\nKd 0.5 1.5 0\n");
  expect_refused("mtllib bad.mtl\n" + square + "f 1 2 3\n", "bad.mtl:2: ", "Kd 1.5 is out of range");
  write("good.mtl", "newmtl skin\nKd 0.5 0.5 0\n");
  expect_refused("mtllib good.mtl\n" + square + "usemtl bone\nf 1 2 3\n", "shape.obj:6: ", "usemtl bone");
}

// A fan of 20000 triangles around one place, which compared with one another would take minutes.
TEST_F(Obj, ManyFacesAtOnePlaceAreReadInTime) {
  std::string obj = "v 0 0 1\n";
  const int rim = 20000;
  for (int i = 0; i < rim; ++i) {
    const double angle = 2 * std::numbers::pi * i / rim;
    obj += fmt::format("v {:.6f} {:.6f} 0\n", std::cos(angle), std::sin(angle));  // a point in any locale
  }
  for (int i = 0; i < rim; ++i)
    obj += "f 1 " + std::to_string(2 + i) + " " + std::to_string(2 + (i + 1) % rim) + "\n";
  const auto start = std::chrono::steady_clock::now();
  const Mesh mesh = load(obj, {{"up", std::string("z")}});
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(20));
  EXPECT_GT(testing::share_of_normals_in_front(mesh), 0.999);
  // The lateral area of a cone of radius 1 and slant sqrt 2, within the six digits of the file.
  EXPECT_NEAR(surface_area(mesh), std::numbers::pi * std::sqrt(2.0), 1e-3);
}

// Other readers end a line at a lone carriage return and see a face here, with an index that is not there.
TEST_F(Obj, LineEndsOfOldMachinesAndZeroBytesAreRefused) {
  expect_refused("# old\rf 1 2 99\n" + square + "f 1 2 3\n",
                 "shape.obj:1: ", "a carriage return in the middle");
  expect_refused(square + std::string("f 1 2 3\0 4\n", 12), "shape.obj:5: ", "a zero byte");
  write("old.mtl", "newmtl skin\rKd 9 9 9\r");
  expect_refused("mtllib old.mtl\n" + square + "f 1 2 3\n", "old.mtl:1: ", "a carriage return in the middle");
}

// Points, lines, curves and tags are of no use here, and what they say is not looked at.
TEST_F(Obj, OtherLinesAreComments) {
  EXPECT_NEAR(
      surface_area(load(square + "l 1 2 99\np 77\nt x 99999999/9/9 1\nvw 9 9\nusemtlskin\ng a b\no c\ns 1\n"
                                 "cstype bezier\nf 1 2 3 4\n")),
      1, 1e-6);
}

TEST_F(Obj, BadCornersNamesAndOutlinesAreRefused) {
  const std::string normal = "vn 0 0 1\n";
  expect_refused(normal + square + "f 1// 2// 3//\n", "shape.obj:6: ", "corner '1//' ends in a slash");
  expect_refused(normal + square + "f 1/ 2/ 3/\n", "shape.obj:6: ", "corner '1/' ends in a slash");
  expect_refused(normal + square + "f 1/1/1/1 2 3\n", "shape.obj:6: ", "has more than three indices");
  expect_refused(square + "f 1 3 2 4\n", "shape.obj:5: ", "the outline of this face crosses itself");
  expect_refused(square + "usemtl old oak\nf 1 2 3\n", "shape.obj:5: ", "a name of one word: 'usemtl NAME'");
  expect_refused(square + "usemtl \xff\nf 1 2 3\n", "shape.obj:5: ", "must be UTF-8 text");
  std::string many = square;
  for (int i = 0; i <= 4096; ++i) many += "usemtl m" + std::to_string(i) + "\n";
  expect_refused(many + "f 1 2 3\n", "shape.obj:4101: ", "more than 4096 materials, which is the limit");
  std::string wide = "f";
  for (int i = 0; i < 256; ++i) wide += " 1";
  expect_refused(square + wide + "\n", "shape.obj:5: ", "a face has at most 255 corners, this one has 256");
  write("twice.mtl", "newmtl skin\nnewmtl skin\n");
  expect_refused("mtllib twice.mtl\n" + square + "f 1 2 3\n", "twice.mtl:2: ", "'skin' is defined twice");
  write("early.mtl", "Kd 0 0 0\nnewmtl skin\n");
  expect_refused("mtllib early.mtl\n" + square + "f 1 2 3\n", "early.mtl:1: ", "Kd before the first newmtl");
}

TEST_F(Obj, TheTriangleLimitIsNamed) {
  // One polygon a line; each of 255 corners makes 253 triangles, so 31621 lines pass 8 million.
  std::string face = "f";
  for (int i = 0; i < 255; ++i) face += " 1";
  std::string obj = "v 0 0 0\n";
  for (int i = 0; i < 31621; ++i) obj += face + "\n";
  try {
    check_obj(obj, "big.obj");
    FAIL();
  } catch (const Refusal& refused) {
    EXPECT_NE(std::string(refused.what()).find("big.obj:31622: more than 8000000 triangles"),
              std::string::npos)
        << refused.what();
  }
}

}  // namespace
}  // namespace undercap
