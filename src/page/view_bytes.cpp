#include "page/view_bytes.h"

#include <cmath>
#include <limits>

#include "report/colour_scale.h"
#include "report/worn.h"

namespace lastroom {
namespace {

template <class Number>
void put(std::string& bytes, Number number) {
  bytes.append(reinterpret_cast<const char*>(&number), sizeof number);
}

void put_places(std::string& bytes, std::span<const Vec3> places_mm) {
  for (const Vec3& p : places_mm)
    for (int k = 0; k < 3; ++k) put(bytes, static_cast<float>(p[k]));
}

void put_triangles(std::string& bytes, std::span<const Triangle> triangles) {
  for (const Triangle& t : triangles)
    for (const std::uint32_t corner : t) put(bytes, corner);
}

void put_counts(std::string& bytes, std::initializer_list<std::size_t> counts) {
  for (const std::size_t count : counts) put(bytes, static_cast<std::uint32_t>(count));
}

}  // namespace

std::string view_of_fitting(const Fitting& fitting) {
  const ClearanceField& field = fitting.clearance;
  const WornMesh skin = worn_skin(fitting), last = worn_last(fitting);
  const bool placed = fitting.assessment.verdict != Verdict::none;
  std::string bytes, room, doubt, colours;
  put_counts(bytes, {skin.mesh.vertices.size(), skin.mesh.triangles.size(), last.mesh.vertices.size(),
                     last.mesh.triangles.size()});
  for (std::size_t v = 0; v < field.clearance_mm.size(); ++v) {
    const bool counts = placed && is_judged(field, fitting.skin, v) && std::isfinite(field.clearance_mm[v]);
    put(room, counts ? static_cast<float>(field.clearance_mm[v]) : std::numeric_limits<float>::quiet_NaN());
    put(doubt, static_cast<float>(field.sigma_mm[v]));
    const VertexColour colour = counts ? clearance_colour(field.clearance_mm[v]) : kNotJudged;
    for (const std::uint8_t part :
         {colour.red, colour.green, colour.blue, static_cast<std::uint8_t>(fitting.skin.zone[v])})
      put(colours, part);
  }
  put_places(bytes, skin.mesh.vertices);
  bytes += room + doubt + colours;
  put_triangles(bytes, skin.mesh.triangles);
  put_places(bytes, last.mesh.vertices);
  put_triangles(bytes, last.mesh.triangles);
  return bytes;
}

std::string view_of_body(const Mesh& mesh) {
  std::string bytes, colours;
  put_counts(bytes, {mesh.vertices.size(), mesh.triangles.size(), 0, 0});
  put_places(bytes, mesh.vertices);
  for (std::size_t i = 0; i < 2 * mesh.vertices.size(); ++i) put(bytes, std::numeric_limits<float>::quiet_NaN());
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v)
    colours += std::string{'\xD9', '\xD3', '\xC8', '\0'};  // the report's colour of skin
  bytes += colours;
  put_triangles(bytes, mesh.triangles);
  return bytes;
}

}  // namespace lastroom
