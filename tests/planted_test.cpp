// What is planted into a last and what is told of it, as the foot stands by construction. Distances are CGAL's
// (last_wall.h: AABB tree, signs after Baerentzen and Aanaes 2005), which shares no code with the program's.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment_bodies.h"
#include "coarse_fit.h"
#include "kinds_of_feet.h"
#include "last_wall.h"
#include "near.h"
#include "zones/skin_normals.h"

namespace lastroom::test {
namespace {

using Members = std::vector<std::uint32_t>;

/// The value below which this share of the members' skin lies, by area.
double quantile(const std::vector<double>& values, const std::vector<double>& areas_mm2, Members members,
                double share) {
  std::ranges::sort(members, {}, [&](std::uint32_t i) { return values[i]; });
  double whole = 0.0, covered = 0.0;
  for (const std::uint32_t i : members) whole += areas_mm2[i];
  for (const std::uint32_t i : members)
    if ((covered += areas_mm2[i]) >= share * whole) return values[i];
  return values[members.back()];
}

/// A place where bone or nail stands close under the skin.
struct Place {
  const char* name;
  Vec3 utmost;  ///< the direction in which it stands out, foot frame
  Zone zone;    ///< that it lies in
  int toe;      ///< 1 to 5, or 0
};

/// The last pressed in before this place by a bell of 4 mm, `deep_mm` into the skin at its peak.
Deform pressing(const Place& place, double deep_mm, std::uint32_t& at) {
  return [=, &at](MadeLast& last, const Foot& foot, const SkinMap& skin, const PosedFoot& posed) {
    constexpr double kBell_mm = 4.0;
    std::optional<std::uint32_t> utmost;
    for (std::uint32_t i = 0; i < skin.zone.size(); ++i)
      if (skin.zone[i] == place.zone && (place.toe == 0 || skin.toe[i] == place.toe) &&
          (!utmost || foot.mesh.vertices[i].dot(place.utmost) > foot.mesh.vertices[*utmost].dot(place.utmost)))
        utmost = i;
    at = utmost.value();
    const LastWall::Nearest wall = LastWall(last.mesh).at(posed(foot.mesh.vertices[at]));
    for (Vec3& v : last.mesh.vertices)
      v -= (deep_mm - wall.outside_mm) * wall.normal *
           std::exp(-0.5 * (v - wall.point_mm).squaredNorm() / (kBell_mm * kBell_mm));
  };
}

}  // namespace

TEST_CASE("a thumb's press is found and named wherever it is") {
  constexpr double kDeep_mm = 12.0, kDisc_mm = 5.64;  // the radius of a square centimetre
  for (const Place& place : {Place{"a bunion", Vec3::UnitY(), Zone::inside_joint, 0},
                             Place{"a tailor's bunion", -Vec3::UnitY(), Zone::outside_joint, 0},
                             Place{"a knuckle", Vec3::UnitZ(), Zone::toe_tops, 3},
                             Place{"a nail's corner", Vec3(1.0, 1.0, 1.0), Zone::big_toe_tip, 1},
                             Place{"a heel spur", -Vec3::UnitX(), Zone::heel_back, 0}}) {
    const std::string name = place.name;
    CAPTURE(name);
    std::uint32_t at = 0;
    const Stand s =
        stand(the_foot(), coarse_foot().length_mm, make_last(the_foot(), coarse_last()), pressing(place, kDeep_mm, at));
    const auto is_named = [&](const Stand& in) {
      return std::ranges::any_of(in.judged().findings, [&](const Finding& f) {
        // A toe's end bears nothing, so its own limit speaks first.
        return f.verdict >= Verdict::watch && f.zone == place.zone &&
               f.rule == (is_toe_end(place.zone) ? rule_of(place.zone) : RuleId::worst_patch);
      });
    };
    CHECK(is_named(s));
    CHECK_FALSE(is_named(the_fit()));
    const std::vector<WorstPatch> patches = worst_patches(s.clearance, s.skin);
    const auto patch = std::ranges::find(patches, place.zone, &WorstPatch::zone);
    REQUIRE(patch != patches.end());
    CHECK((patch->at_mm - s.clearance.skin_mm[at]).norm() < kDisc_mm);
    // The mean over that disc of CGAL's distances. The program's are evened by 2 mm, which makes the bell 4.5 mm wide
    // and takes at most 13 % of its depth off a disc's mean.
    const LastWall wall(s.last.mesh);
    double area_mm2 = 0.0, sum = 0.0;
    for (std::size_t i = 0; i < s.skin.zone.size(); ++i)
      if (s.skin.zone[i] == place.zone && (s.clearance.skin_mm[i] - patch->at_mm).norm() <= kDisc_mm) {
        area_mm2 += s.clearance.area_mm2[i];
        sum += s.clearance.area_mm2[i] * (-wall.at(s.clearance.skin_mm[i]).outside_mm - s.clearance.sock_mm);
      }
    CHECK(patch->mm >= sum / area_mm2 - 0.01);
    CHECK(patch->mm <= sum / area_mm2 + 0.13 * kDeep_mm);
  }
}

TEST_CASE("a zone's clearance is the nearest signed distance of all of its own skin, after the sock") {
  const Stand& fit = the_fit();
  const ClearanceField field = clearance_between(fit.foot, fit.registration, fit.surface, {.sock_mm = 1.5});
  const LastWall wall(fit.last.mesh);
  std::vector<double> rooms_mm;
  std::vector<Members> members(kZoneCount + 1);
  for (std::uint32_t i = 0; i < fit.skin.zone.size(); ++i) {
    rooms_mm.push_back(-wall.at(field.skin_mm[i]).outside_mm - 1.5);
    members[static_cast<std::size_t>(fit.skin.zone[i])].push_back(i);
  }
  const std::vector<double> even_mm = evened(fit.foot.mesh, rooms_mm, 2.0);
  std::size_t compared = 0;
  for (const ZoneClearance& zone : by_zone(field, fit.skin)) {
    CAPTURE(zone_name(zone.zone));
    const Members& own = members[static_cast<std::size_t>(zone.zone)];
    if (std::ranges::any_of(own, [&](std::uint32_t i) { return field.on_rim[i] != 0; })) continue;
    ++compared;
    CHECK(zone.p05_mm == WithinMm{quantile(even_mm, field.area_mm2, own, 0.05), 1e-6});
    CHECK(zone.median_mm == WithinMm{quantile(even_mm, field.area_mm2, own, 0.50), 1e-6});
    CHECK(zone.min_mm == WithinMm{quantile(even_mm, field.area_mm2, own, 0.0), 1e-6});
  }
  CHECK(compared >= 14);  // all but those that reach the open top: heel, waist, instep
}

TEST_CASE("a press on clawed toes is as deep as it was planted, also where they were not told apart") {
  constexpr double kPress_mm = 2.5, kFarUp_mm = 60.0;
  const auto kind = std::ranges::find(foot_kinds(), "claw toes", &FootKind::name);
  for (const unsigned seed : {1u, 2u, 3u}) {
    CAPTURE(seed);
    Dice dice(seed);
    KnownFoot clawed = known(the_foot());
    kind->make(clawed, dice);
    MadeFoot foot = the_foot();
    foot.mesh = clawed.skin;
    foot.toe_tips = clawed.toe_tips;
    const Stand s = stand(foot, coarse_foot().length_mm, make_last(foot, coarse_last()),
                          [&](MadeLast& last, const Foot& scanned, const SkinMap& skin, const PosedFoot& posed) {
                            dent_roof(last.mesh, scanned, skin, posed, 3, kPress_mm);
                          });
    const LastWall wall(s.last.mesh);
    const Vec3 forward = s.clearance.last_from_fore.col(0), up = s.clearance.last_from_fore.col(2);
    double tip_mm = -1e9, truth_mm = 1e9;
    for (std::uint32_t i = 0; i < s.skin.toe.size(); ++i)
      if (s.skin.toe[i] == 3) tip_mm = std::max(tip_mm, forward.dot(s.clearance.skin_mm[i]));
    for (std::uint32_t i = 0; i < s.skin.toe.size(); ++i)
      if (s.skin.toe[i] == 3 && s.skin.zone[i] == Zone::toe_tops &&
          forward.dot(s.clearance.skin_mm[i]) > tip_mm - kToeTop_mm)
        if (const auto down_mm = wall.reach_mm(s.clearance.skin_mm[i] + kFarUp_mm * up, -up))
          truth_mm = std::min(truth_mm, kFarUp_mm - *down_mm - s.clearance.sock_mm);
    constexpr double kDepth_mm = 1.0;  // as exact as a press is to be told: the least of all skin against an evened top
    REQUIRE(s.toe_room.headroom_mm[2].has_value());
    CHECK(*s.toe_room.headroom_mm[2] == WithinMm{truth_mm, kDepth_mm});
    CHECK(truth_mm < -1.0);

    Foot together = s.foot;  // second to fourth toe
    together.landmarks.toe_borders[1].seen = together.landmarks.toe_borders[2].seen = false;
    const ToeRoom group = toe_room(together, s.skin, s.clearance, s.last);
    CHECK(group.headroom_mm[1] == group.headroom_mm[3]);
    CHECK(*group.headroom_mm[2] == WithinMm{truth_mm, kDepth_mm});  // the third toe is the one that is pressed
  }
}

}  // namespace lastroom::test
