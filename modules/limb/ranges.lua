-- Ranges of motion of people, in degrees, as the limb reads them.
--
-- `bend`: of the middle joint, from straight. `base_turn`: of the upper about its own length, medial above 0.
-- `base_bend`: of the upper about the hinge of the middle joint, towards which that joint bends above 0 (of a leg: the
-- thigh goes back above 0, forwards below). `end_turn`: of the end about the length of the lower, pronation above 0.
-- `end_bend`: of the end about the hinge, `end_side`: square to it; of an arm radial and flexion above 0, of a leg
-- plantar above 0. What a table does not give is free.

-- F. A. Davis, physical therapy collection, Table A.1: ranges of the upper limb.
local function arm(source, r)
  return {
    source = source .. ", in F. A. Davis, Table A.1",
    bend = { 0, r.elbow }, base_turn = { -r.lateral, r.medial }, end_turn = { -r.supination, r.pronation },
    end_bend = { -r.ulnar, r.radial }, end_side = { -r.extension, r.flexion },
  }
end

-- CDC, after Soucie et al., Haemophilia 17:500-507, 2011; passive motion. Plantar flexion is not given for these ages.
local function leg(who, r)
  return {
    source = "CDC joint ROM study, Soucie et al. 2011, " .. who,
    bend = { 0, r.knee }, base_bend = { -r.hip_flexion, r.hip_extension }, end_bend = { -r.dorsiflexion, 90 },
  }
end

return {
  arm_boone_azen = arm("Boone and Azen 1979, 109 males", {
    lateral = 104, medial = 69, elbow = 143, pronation = 76, supination = 82, flexion = 76, extension = 75, radial = 22, ulnar = 36,
  }),
  arm_aaos = arm("AAOS", {
    lateral = 90, medial = 70, elbow = 150, pronation = 80, supination = 80, flexion = 80, extension = 70, radial = 20, ulnar = 30,
  }),
  arm_ama = arm("AMA", {
    lateral = 60, medial = 80, elbow = 140, pronation = 80, supination = 80, flexion = 60, extension = 60, radial = 20, ulnar = 30,
  }),
  leg_cdc_girls = leg("girls of 2 to 8 years", { knee = 152.6, hip_flexion = 140.8, hip_extension = 26.2, dorsiflexion = 24.8 }),
  leg_cdc_boys = leg("boys of 2 to 8 years", { knee = 147.8, hip_flexion = 131.1, hip_extension = 28.3, dorsiflexion = 22.8 }),
}
