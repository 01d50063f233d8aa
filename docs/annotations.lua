---@meta fid
-- What editors know of fid. Written by 'fid init'; never run.

---@alias fid.Source fid.Bone|fid.Vec|table|"rig"|"world"

---@class fid.Outline
---@class fid.Set
---@class fid.Layer
---@class fid.Drive
---@class fid.Module
---@class fid.Tests

---Makes a point or direction. {x, y, z} is as good as an argument
---@class fid.Vec
---@field x number Its coordinates
---@field y number Its coordinates
---@field z number Its coordinates
---@operator add(any): fid.Vec
---@operator sub(any): fid.Vec
---@operator mul(any): fid.Vec
---@operator div(any): fid.Vec
local Vec = {}

---Its length
---@return number
function Vec:length() end

---The same with length 1
---@return fid.Vec
function Vec:normalized() end

---The scalar product
---@param v fid.Vec|number[]
---@return number
function Vec:dot(v) end

---The vector product
---@param v fid.Vec|number[]
---@return fid.Vec
function Vec:cross(v) end

---To another point, m; to another direction, degrees
---@param v fid.Vec|number[]
---@return number
function Vec:distance(v) end

---To another point, m; to another direction, degrees
---@param v fid.Vec|number[]
---@return number
function Vec:angle(v) end

---At the part f of the way to another
---@param v fid.Vec|number[]
---@param f number
---@return fid.Vec
function Vec:lerp(v, f) end

---Makes a frame
---@class fid.Frame
---@operator mul(any): fid.Frame
local Frame = {}

---What undoes it
---@return fid.Frame
function Frame:inverse() end

---As it is seen from its own space
---@param p fid.Vec|number[]
---@return fid.Vec
function Frame:to_own(p) end

---g as it is seen from its own space
---@param g fid.Frame
---@return fid.Frame
function Frame:turn_to(g) end

---Makes a response for rig:drive{}
---@class fid.Curve
local Curve = {}

---Its value
---@param x number
---@return number
function Curve:at(x) end

---Begins a row of random numbers: the same seed gives the same ones
---@class fid.Random
local Random = {}

---From 0 to 1 unless told
---@param lo number
---@param hi number
---@return number
function Random:number(lo, hi) end

---From lo to hi
---@param lo number
---@param hi number
---@return integer
function Random:integer(lo, hi) end

---What rig:bone{} and rig:control{} give: as it was made, and its place at rest in the rig
---@class fid.Bone
---@field name string What it is called, for good by its address
---@field address string What it is called, for good by its address
---@field part string What it is called, for good by its address
---@field id string What it is called, for good by its address
---@field side string left, right or center; deform, helper or control; everyday, fine or setup
---@field role string left, right or center; deform, helper or control; everyday, fine or setup
---@field level string left, right or center; deform, helper or control; everyday, fine or setup
---@field index number Its number in a row
---@field tags (string)[] Its tags
---@field display_set fid.Set|nil The Set in which it is shown
---@field length number From base to tip
---@field frame fid.Frame Of its base
---@field base fid.Vec Its ends
---@field tip fid.Vec Its ends
---@field aim fid.Vec Its axes
---@field up fid.Vec Its axes
---@field across fid.Vec Its axes
---@field parent fid.Bone|nil What it hangs from
---@field children (fid.Bone)[] What hangs from it
---@field channels (string)[] The names of the channels that may be posed
---@field channel table<string, fid.Channel> Any of its channels, sliders by their names, too
---@field spaces fid.Constraint|nil The Constraint that rig:spaces{} gave it
local Bone = {}

---From its base (0) to its tip (1), as a point and as a source
---@param f number
---@return fid.Vec
function Bone:point(f) end

---What rig:chain{}, rig:span_chain{} and chain:copy{} give: chain[1] to chain[#chain] are its bones
---@class fid.Chain
---@field [integer] fid.Bone its bones, from 1 to #chain
---@operator len: integer
---@field first fid.Bone Its end bones
---@field last fid.Bone Its end bones
---@field address string What it is called for good
---@field length number Along the points
---@field with_end boolean|boolean Whether it has a bone at its last point
local Chain = {}

---The joints
---@return (fid.Vec)[]
function Chain:points() end

---At the part t, from 0 to 1, of its length
---@param t number
---@return fid.Vec
function Chain:at(t) end

---The part of its length that is nearest to a point, and that place
---@param p fid.Vec|number[]
---@return number
function Chain:nearest(p) end

---Its points with each segment divided into n parts
---@param n integer
---@return (fid.Vec)[]
function Chain:split(n) end

---What bone.channel[...], rig:slider{} and constraint.weight give
---@class fid.Channel
---@field name string As files and --set name it
---@field default number Its value at rest
---@field min number|nil Its range; nil where it is open
---@field max number|nil Its range; nil where it is open
---@field animatable boolean|boolean Whether animators pose it
---@field hidden boolean|boolean Whether it is a slider that animators do not see
---@field choices (string)[]|nil Of a slider that has choices
---@field doc string|nil What a slider is for
---@field bone fid.Bone|nil Whose it is
local Channel = {}

---What rig:follow{}, rig:aim{} and their like give
---@class fid.Constraint
---@field address string What it is called for good; "follow" and so on
---@field kind string What it is called for good; "follow" and so on
---@field bone fid.Bone|nil What it moves
---@field chain fid.Chain|nil What an ik or a spline moves
---@field weight fid.Channel How much of it acts; a drive can feed it
local Constraint = {}

---What rig:pose{} gives
---@class fid.Pose
local Pose = {}

---With left and right exchanged; the notes, a list of texts, tell what has no counterpart and is left out
---@return fid.Pose
function Pose:mirrored() end

---What rig:solve(pose) gives, with the placement in it
---@class fid.Solved
---@field notes (string)[] What was clamped in the pose
local Solved = {}

---Its ends
---@param bone fid.Bone|string
---@return fid.Vec
function Solved:base(bone) end

---Its ends
---@param bone fid.Bone|string
---@return fid.Vec
function Solved:tip(bone) end

---Its place and turn, without its scales
---@param bone fid.Bone|string
---@return fid.Frame
function Solved:frame(bone) end

---Angles in degrees; {x, y, z, w}
---@param bone fid.Bone|string
---@return (number)[]
function Solved:rotation(bone) end

---Angles in degrees; {x, y, z, w}
---@param bone fid.Bone|string
---@return (number)[]
function Solved:quaternion(bone) end

---Scales of the axes; 16 numbers, column by column
---@param bone fid.Bone|string
---@return (number)[]
function Solved:scale(bone) end

---Scales of the axes; 16 numbers, column by column
---@param bone fid.Bone|string
---@return (number)[]
function Solved:matrix(bone) end

---The value after drives and limits; of a Channel or its name
---@param channel fid.Channel|string
---@return number
function Solved:channel(channel) end

---error (m, from end to goal), reach (distance to the goal as a ratio of the length), stretch, bends (degrees of each joint)
---@param ik fid.Constraint
---@return table
function Solved:report(ik) end

---What rig:use() and rig:mirror() give
---@class fid.Instance
---@field id string As it was used
---@field side string As it was used
---@field module string "name 1.0.0"
---@field mounts table What the module hands out, by name
---@field controls table What the module hands out, by name
---@field sliders table What the module hands out, by name
---@field chains table What the module hands out, by name
---@field bones table All its bones in order, and those that it hands out by name
local Instance = {}

---What fid.recipe{} gives; another recipe begins with require("name").build{}
---@class fid.Recipe
local Recipe = {}

---Built with these parameters, a table by name
---@param values any
---@return fid.Rig
function Recipe:build(values) end

---What a case of fid.tests{} is handed; a check that fails ends the case
---@class fid.Test
---@field rig fid.Rig A rig of its own
local Test = {}

---Of the example with changes; {id, side, parent, without = list of names} is how it is used
---@param changes any
---@param given any
---@return fid.Instance
function Test:use(changes, given) end

---The rig posed; at rest where no pose is given
---@param pose fid.Pose|table|string
---@return fid.Solved
function Test:solve(pose) end

---Numbers, points, frames (their places) or lists of numbers that are apart by no more
---@param found any
---@param expected any
---@param tolerance any
---@param what any
---@return nil
function Test:near(found, expected, tolerance, what) end

---A bone is turned like a frame, by angles {x, y, z}, or as at "rest"
---@param solved any
---@param bone fid.Bone|string
---@param expected any
---@param degrees any
---@param what any
---@return nil
function Test:aligned(solved, bone, expected, degrees, what) end

---From its base to its tip, m
---@param solved any
---@param bone fid.Bone|string
---@param expected any
---@param tolerance any
---@param what any
---@return nil
function Test:length(solved, bone, expected, tolerance, what) end

---The product of its scales, as a ratio of that at rest
---@param solved any
---@param bone fid.Bone|string
---@param expected any
---@param tolerance any
---@param what any
---@return nil
function Test:volume(solved, bone, expected, tolerance, what) end

---Two instances are mirror images, to 1e-5 of the height, where both are posed as pose_of(instance) says: that of the right one is reflected
---@param left any
---@param right any
---@param pose_of any
---@return nil
function Test:symmetric(left, right, pose_of) end

---{set, from, to, steps, turn, shift}: no bone of the rig turns (degrees) or moves (m) more a step, posed by set(x)
---@param given any
---@return nil
function Test:continuous(given) end

---Calling run is an error whose message holds the text
---@param text any
---@param run any
---@return nil
function Test:refused(text, run) end

---rig:check{} finds nothing; takes what that takes, and except = list of codes
---@param given any
---@return nil
function Test:clean(given) end

---The same value, or tables of the same values
---@param found any
---@param expected any
---@param what any
---@return nil
function Test:equal(found, expected, what) end

---Neither false nor nil
---@param value any
---@param what any
---@return nil
function Test:is_true(value, what) end

---What fid.rig{} gives; its calls are listed by 'fid help calls'
---@class fid.Rig
---@field name string As it was made
---@field height number As it was made
---@field placement fid.Bone|nil The Bone that places it
local Rig = {}

---@class fid
local fid = { name = {}, points = {}, outline = {} }

---@class fid.rig_arguments
---@field naming? table How names are rendered: {template, index, sides, roles} (table)
---@field thresholds? table From where on rules speak, such as {S203_warning = 2}; 'fid rule CODE' names those of a rule (table)
---@field name string What the rig is called: small letters, digits and '_', required
---@field height number How tall the character is: tolerances and usual sizes follow from it, m, above 0 to 10000, required

---Begins a rig
---@param arguments fid.rig_arguments
---@return fid.Rig a Rig
function fid.rig(arguments) end

---@class fid.bone_arguments
---@field id? string What the bone belongs to: small letters and digits; the instance's inside a module
---@field part string What the bone is: small letters and digits, required
---@field index? integer|integer[] Which of several: one number or a list of two
---@field side? "left"|"right"|"center" On which side of the character it is, default center
---@field parent? fid.Bone The bone that it hangs from; without one it hangs from the rig
---@field role? "deform"|"helper"|"control" What it is for: to deform the skin, to help other bones, to be posed, default deform
---@field takes? ("translation"|"rotation"|"scale")[]|"all" What it takes from its parent: translation, rotation, scale, default translation and rotation
---@field rotation_order? "xyz"|"xzy"|"yxz"|"yzx"|"zxy"|"zyx" Order of its Euler angles, default xyz
---@field level? "everyday"|"fine"|"setup" How often an animator needs it, default everyday
---@field display_set? fid.Set|string The display set that it is shown with; a control without one is put into LEVEL_SIDE
---@field outline? fid.Outline|"circle"|"square"|"box"|"arrow" The curve that is drawn for it
---@field tags? string[] Words by which it can be found
---@field channels? string[] What animators may pose; of controls translation and rotation unless told, of others nothing
---@field translation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of translation, m
---@field rotation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of rotation, deg
---@field scale_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of scale
---@field placement? boolean Whether it places the whole character, default false
---@field at? fid.Vec|number[] Where its base is, m
---@field to? fid.Vec|number[] Where its tip is, m
---@field frame? fid.Frame Its rest frame, instead of at, to, aim, up and across, m
---@field aim? fid.Vec|number[] The direction from base to tip, instead of to
---@field size? number Its length where no tip is given; 0 stands for the usual size, m, 0 to 100000000, default 0
---@field up? fid.Vec|number[] The direction towards which its up axis turns
---@field across? fid.Vec|number[] The direction towards which its across axis turns, instead of up

---Makes a bone
---@param arguments fid.bone_arguments
---@return fid.Bone a Bone
function Rig:bone(arguments) end

---@class fid.control_arguments
---@field id? string What the bone belongs to: small letters and digits; the instance's inside a module
---@field part string What the bone is: small letters and digits, required
---@field index? integer|integer[] Which of several: one number or a list of two
---@field side? "left"|"right"|"center" On which side of the character it is, default center
---@field parent? fid.Bone The bone that it hangs from; without one it hangs from the rig
---@field takes? ("translation"|"rotation"|"scale")[]|"all" What it takes from its parent: translation, rotation, scale, default translation and rotation
---@field rotation_order? "xyz"|"xzy"|"yxz"|"yzx"|"zxy"|"zyx" Order of its Euler angles, default xyz
---@field level? "everyday"|"fine"|"setup" How often an animator needs it, default everyday
---@field display_set? fid.Set|string The display set that it is shown with; a control without one is put into LEVEL_SIDE
---@field outline? fid.Outline|"circle"|"square"|"box"|"arrow" The curve that is drawn for it
---@field tags? string[] Words by which it can be found
---@field channels? string[] What animators may pose; of controls translation and rotation unless told, of others nothing
---@field translation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of translation, m
---@field rotation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of rotation, deg
---@field scale_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of scale
---@field placement? boolean Whether it places the whole character, default false
---@field at? fid.Vec|number[] Where its base is, m
---@field to? fid.Vec|number[] Where its tip is, m
---@field frame? fid.Frame Its rest frame, instead of at, to, aim, up and across, m
---@field aim? fid.Vec|number[] The direction from base to tip, instead of to
---@field size? number Its length where no tip is given; 0 stands for the usual size, m, 0 to 100000000, default 0
---@field up? fid.Vec|number[] The direction towards which its up axis turns
---@field across? fid.Vec|number[] The direction towards which its across axis turns, instead of up

---Makes a bone that animators pose, along the axes of the rig unless told
---@param arguments fid.control_arguments
---@return fid.Bone a Bone
function Rig:control(arguments) end

---@class fid.chain_arguments
---@field points (fid.Vec)[] The joints, base first (list of points, m, required)
---@field id? string What the bone belongs to: small letters and digits; the instance's inside a module
---@field part string What the bone is: small letters and digits, required
---@field side? "left"|"right"|"center" On which side of the character it is, default center
---@field parent? fid.Bone The bone that it hangs from; without one it hangs from the rig
---@field role? "deform"|"helper"|"control" What it is for: to deform the skin, to help other bones, to be posed, default helper
---@field takes? ("translation"|"rotation"|"scale")[]|"all" What it takes from its parent: translation, rotation, scale, default translation and rotation
---@field rotation_order? "xyz"|"xzy"|"yxz"|"yzx"|"zxy"|"zyx" Order of its Euler angles, default xyz
---@field level? "everyday"|"fine"|"setup" How often an animator needs it, default everyday
---@field display_set? fid.Set|string The display set that it is shown with; a control without one is put into LEVEL_SIDE
---@field outline? fid.Outline|"circle"|"square"|"box"|"arrow" The curve that is drawn for it
---@field tags? string[] Words by which it can be found
---@field channels? string[] What animators may pose; of controls translation and rotation unless told, of others nothing
---@field translation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of translation, m
---@field rotation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of rotation, deg
---@field scale_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of scale
---@field with_end? boolean Whether a bone stands at the last point, too, default false
---@field parenting? "linked"|"fan" Whether each hangs from the one before, or all from the parent, default linked
---@field up? fid.Vec|number[] The direction towards which the up axes turn
---@field across? fid.Vec|number[] The direction towards which the across axes turn; the normal of its bend unless told

---Makes bones in a row, from point to point
---@param arguments fid.chain_arguments
---@return fid.Chain a Chain
function Rig:chain(arguments) end

---@class fid.span_chain_arguments
---@field along fid.Chain The chain that they lie along (Chain, required)
---@field keep_volume? number|fid.Channel How much of its volume each keeps (number or Channel, 0 to 1, default 1)
---@field shortest? number The smallest ratio of length to that at rest (number, 0.01 to 1, default 0.01)
---@field longest? number The largest ratio of length to that at rest (number, 1 to 100, default 100)
---@field id? string What the bone belongs to: small letters and digits; the instance's inside a module
---@field part string What the bone is: small letters and digits, required
---@field side? "left"|"right"|"center" On which side of the character it is, default center
---@field role? "deform"|"helper"|"control" What it is for: to deform the skin, to help other bones, to be posed, default deform
---@field takes? ("translation"|"rotation"|"scale")[]|"all" What it takes from its parent: translation, rotation, scale, default translation and rotation
---@field rotation_order? "xyz"|"xzy"|"yxz"|"yzx"|"zxy"|"zyx" Order of its Euler angles, default xyz
---@field level? "everyday"|"fine"|"setup" How often an animator needs it, default everyday
---@field display_set? fid.Set|string The display set that it is shown with; a control without one is put into LEVEL_SIDE
---@field outline? fid.Outline|"circle"|"square"|"box"|"arrow" The curve that is drawn for it
---@field tags? string[] Words by which it can be found
---@field channels? string[] What animators may pose; of controls translation and rotation unless told, of others nothing
---@field translation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of translation, m
---@field rotation_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of rotation, deg
---@field scale_range? { x?: number[], y?: number[], z?: number[] } Range of each channel of scale

---Makes bones that hang each from one bone of a chain and span to the next
---@param arguments fid.span_chain_arguments
---@return fid.Chain a Chain
function Rig:span_chain(arguments) end

---@class fid.follow_arguments
---@field bone fid.Bone The bone that follows, required
---@field source? fid.Source What it follows; several have shares that add up to 1 at most, required
---@field sources? table[] list of {source, share}; What it follows; several have shares that add up to 1 at most, required
---@field channels? string[] What it takes over, default translation and rotation
---@field offset? "rest"|"none" Whether the relation at rest is kept, default rest
---@field path? "arc"|"straight" Whether it is carried round its source or mixed straight towards its aim, default arc
---@field space? "rig"|"own" Whether it follows the place of its source, or, each in its own axes, what departs from where the parent carries it, default rig
---@field gain? number|fid.Channel By what the departure is scaled; in own space only, default 1
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1
---@field apply? "before"|"after" Whether it acts before the pose or after it, default before

---Takes over another bone's motion
---@param arguments fid.follow_arguments
---@return fid.Constraint a Constraint
function Rig:follow(arguments) end

---@class fid.aim_arguments
---@field bone fid.Bone The bone that points, required
---@field source fid.Source What it points at, required
---@field axis? "+x"|"-x"|"+y"|"-y"|"+z"|"-z" Which of its axes points; matters with offset none only, default +z
---@field up? fid.Bone|fid.Vec|number[] The bone towards whose base its up axis turns
---@field offset? "rest"|"none" Whether the relation at rest is kept, default rest
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1
---@field apply? "before"|"after" Whether it acts before the pose or after it, default before

---Points at something
---@param arguments fid.aim_arguments
---@return fid.Constraint a Constraint
function Rig:aim(arguments) end

---@class fid.span_arguments
---@field bone fid.Bone The bone that points and lengthens, required
---@field source fid.Source What its tip reaches for, required
---@field keep_volume? number|fid.Channel How much of its volume it keeps: 1 grows thin exactly as it grows long, 0 not at all, 0 to 1, default 1
---@field shortest? number The smallest ratio of its length to that at rest, 0.01 to 1, default 0.01
---@field longest? number The largest ratio of its length to that at rest, 1 to 100, default 100
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1
---@field apply? "before"|"after" Whether it acts before the pose or after it, default before

---Points and lengthens, keeping volume
---@param arguments fid.span_arguments
---@return fid.Constraint a Constraint
function Rig:span(arguments) end

---@class fid.ik_arguments
---@field chain fid.Chain The bones that turn, required
---@field goal fid.Source What the end of the chain meets; it rests there, required
---@field pole? fid.Source What turns the plane of the bend as it moves about the chain
---@field swivel? number|fid.Channel Turn of the plane of the bend, instead of a pole, deg, -100000 to 100000, default 0
---@field soft? number|fid.Channel The part of its reach in which it slows down before it is straight, 0 to 0.5, default 0.02
---@field reach? number|fid.Channel The longest reach as a ratio of the length; above 1 the chain needs an end bone, 1 to 4, default 1
---@field length? number|fid.Channel The length of the segments as a ratio of that at rest; other than 1 the chain needs an end bone, 0.02 to 4, default 1
---@field bend_shares? number[] How much each joint takes of the bend; 1 for each unless told, above 0 to 100
---@field bend_limits? number[][] The range of each joint's angle, which contains its bend at rest, deg, 0 to 180
---@field bend_axis? fid.Vec|number[] The axis in rig space about which a straight chain bends
---@field match_rotation? number|fid.Channel How much the end bone turns with the goal; above 0 the chain needs an end bone, 0 to 1, default 0
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1

---Turns the bones of a chain so that its end meets a goal
---@param arguments fid.ik_arguments
---@return fid.Constraint a Constraint
function Rig:ik(arguments) end

---@class fid.limit_arguments
---@field bone fid.Bone The bone whose pose is kept in a range, required
---@field translation? { x?: number[], y?: number[], z?: number[] } Ranges of translation, m
---@field rotation? { x?: number[], y?: number[], z?: number[] } Ranges of rotation in the bone's order; the middle angle at most 90 either way, deg
---@field scale? { x?: number[], y?: number[], z?: number[] } Ranges of scale
---@field swing? number How far the aim axis may swing; instead of ranges of rotation, deg, 0 to 180, default 180
---@field twist? number[] The range {lo, hi} of the turn about the aim axis; instead of ranges of rotation, deg, -180 to 180

---Keeps values of the pose in a range
---@param arguments fid.limit_arguments
---@return fid.Constraint a Constraint
function Rig:limit(arguments) end

---@class fid.twist_arguments
---@field bone fid.Bone The bone that turns about its aim axis, required
---@field source fid.Bone The bone whose turn about its aim axis is shared, required
---@field gain? number|fid.Channel How much of it is taken over, default 1
---@field center? number The turn is read within 180 degrees of this, deg, -180 to 180, default 0
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1
---@field apply? "before"|"after" Whether it acts before the pose or after it, default before

---Shares another bone's turn about its aim axis
---@param arguments fid.twist_arguments
---@return fid.Constraint a Constraint
function Rig:twist(arguments) end

---@class fid.spline_arguments
---@field chain fid.Chain The bones that are laid along the curve, required
---@field through fid.Bone[] The controls through whose bases the curve goes, two or more, in order, required
---@field fill? number|fid.Channel How the joints lie on the curve: at 0 the segments keep their lengths, at 1 they share the whole curve as at rest, 0 to 1, default 0
---@field end_twist? number|fid.Channel How much of the turn of the last control against the first is spread along the curve, 0 to 1, default 1
---@field weight? number|fid.Channel How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim, 0 to 1, default 1

---Lays the bones of a chain along a curve through controls
---@param arguments fid.spline_arguments
---@return fid.Constraint a Constraint
function Rig:spline(arguments) end

---@class fid.spaces_arguments
---@field bone fid.Bone The bone that rides, required
---@field among table[] What it may ride on, each with a name; each acts as a parent would, m, required
---@field default? string The name of the choice at rest; the first unless told
---@field mixed? boolean Whether it rides on several at once: a slider 'space_NAME' for the share of each, instead of one that chooses, default false

---Switches what a bone rides on by a slider 'space'
---@param arguments fid.spaces_arguments
---@return fid.Constraint a Constraint
function Rig:spaces(arguments) end

---@class fid.add_arguments
---@field among (any)[] What it may ride on besides, as in rig:spaces{} (list of {name, source, offset, meet = bone}, required)

---Adds choices to spaces that are there (bone.spaces), as their last ones
---@param arguments fid.add_arguments
---@return fid.Constraint the Constraint
function Constraint:add(arguments) end

---@class fid.slider_arguments
---@field on fid.Bone The bone that has it, required
---@field name string Small letters, digits and '_', required
---@field default? number Its value at rest, default 0
---@field min? number Its smallest value, default 0
---@field max? number Its largest value, default 1
---@field choices? string[] What its values 0, 1, 2, ... stand for; its range follows from them
---@field doc? string What it does, for animators
---@field hidden? boolean Whether it is kept from animators, default false

---Makes a channel of its own on a bone
---@param arguments fid.slider_arguments
---@return fid.Channel a Channel
function Rig:slider(arguments) end

---@class fid.pose_layer_arguments
---@field name string Its name within the instance, required
---@field by fid.Channel The channel that blends the poses in, required
---@field interpolation? "linear"|"smooth" How translations go from pose to pose; turns go the shorter way, scales in the logarithm, default linear
---@field poses table[] Poses of bones at values of the channel; at 0 all are at rest, required

---Blends poses of several bones in by a channel
---@param arguments fid.pose_layer_arguments
---@return fid.Layer a Layer
function Rig:pose_layer(arguments) end

---@class fid.drive_arguments
---@field to fid.Channel The channel that is computed; it need not be one that may be posed, required
---@field from fid.Channel|table What it is computed from: a channel, a measure of bones, or a list of these whose product is taken, required
---@field curve? fid.Curve|table The response, a line of points held beyond its ends or a power; without one the value itself
---@field gain? number|fid.Channel What the response is multiplied with, default 1
---@field combine? "replace"|"add"|"multiply" What becomes of the value that the channel had, default replace

---Computes a channel from others, or from where bones are
---@param arguments fid.drive_arguments
---@return fid.Drive a Drive
function Rig:drive(arguments) end

---@class fid.display_set_arguments
---@field name string Small letters, digits and '_', required
---@field color? string Its color like "#E69F00"; gray unless told
---@field visible? boolean Whether it is shown at first, default true

---Makes a set of bones shown and colored together
---@param arguments fid.display_set_arguments
---@return fid.Set a Set
function Rig:display_set(arguments) end

---@class fid.use_arguments
---@field id string What its bones belong to: small letters and digits (text, required)
---@field side? "left"|"right"|"center" The right side is the mirrored world (one of left, right, center, default center)
---@field parent? fid.Bone What it hangs from; inside a module what the module hangs from, unless told (Bone)
---@field [any] any As its module.lua declares them

---@class (exact) fid.modules.antenna.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field bones? integer how many deform bones, of equal length along the guides (whole number, 2 to 60, default 6)
---@field curl? number how far the slider curls it, both ways (number, deg, 1 to 1080, default 180)
---@field falloff? fid.Curve|table how much of a curl, a sway or a turn is reached, over the place from 0 (root) to 1 (tip) (fid.curve{}, default {"points": [[0, 0], [1, 1]]})
---@field fine? boolean a control on every joint (true or false, default true)
---@field guides (fid.Vec|number[])[]|fid.Chain way of the antenna, from its root to its tip (list of points, m, 2 elements or more)
---@field level_with? fid.Bone what a steady antenna is turned with; the rig unless told (bone)
---@field size? number size of the root control; a fifth of the length unless told (number, m, 0.0001 to 1000)
---@field sway? number how far the slider bends it to the sides, both ways (number, deg, 1 to 360, default 90)
---@field up? fid.Vec|number[] where its back is: -Z for one that rises, +Y for one that reaches forward, unless told (vector {x, y, z}, computed unless given)

---a thin chain on a head that curls and sways by sliders, and bends as if it stayed behind where the head turns, version 1.0.0
---@class fid.modules.antenna: fid.Instance
---@field controls { base: fid.Bone }
---@field mounts { base: fid.Bone, tip: fid.Bone }
---@field sliders { curl: fid.Channel, steady: fid.Channel, sway: fid.Channel }
---@field chains { antenna: fid.Chain, joints: fid.Chain }

---@class (exact) fid.modules.clasp.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field beside? boolean the blades are a left and a right one, the first on the left: a clasp in the middle of the character (true or false, default false)
---@field curl? number how far each tip segment turns inwards as the blades close (number, deg, 0 to 90, default 0)
---@field first (fid.Vec|number[])[]|fid.Chain hinge, joints and tip of the one blade, open (list of points, m, 2 to 9 elements)
---@field gap? number how far apart the blades' lines stay where they meet: the thickness of a blade (number, m, 0 to 1000, default 0)
---@field second (fid.Vec|number[])[]|fid.Chain hinge, joints and tip of the other blade, open (list of points, m, 2 to 9 elements)
---@field slide? number how far a hinge slides forwards as its blade closes (number, m, -1000 to 1000, default 0)
---@field wider? number how far a joint may open beyond rest (number, deg, 1 to 90, default 20)

---two blades that one slider closes until they meet; no control makes them pass through each other, version 1.0.0
---@class fid.modules.clasp: fid.Instance
---@field controls { base: fid.Bone, first: fid.Bone, second: fid.Bone }
---@field mounts { base: fid.Bone, first: fid.Bone, second: fid.Bone }
---@field sliders { close: fid.Channel }
---@field chains { first: fid.Chain, second: fid.Chain }

---@class (exact) fid.modules.digits.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field back? fid.Vec|number[] away from the back of the hand: digits curl the other way (vector {x, y, z}, default [0, 1, 0])
---@field cup? number how far the outermost digits turn towards each other as the hand is cupped (number, deg, 0 to 90, default 25)
---@field curl? number how far each joint turns as the digits are curled (number, deg, 1 to 170, default 80)
---@field digits ((fid.Vec|number[])[]|fid.Chain)[] joints of each digit, from its first to its tip; side by side (list of (list of points, m, 2 elements or more), 1 to 16 elements)
---@field names? (string)[] what the digits are called, as parts of bones; digit1, digit2 and so on unless told (list of (text), default [])
---@field palm? integer how many bones of each digit lie in the palm: these only cup (whole number, 0 to 4, default 0)
---@field spread? number how far the outermost digits turn as they are spread (number, deg, 0 to 90, default 20)
---@field thumb? (fid.Vec|number[])[]|fid.Chain joints of the thumb, from its first to its tip (list of points, m, 2 elements or more)
---@field thumb_axis? fid.Vec|number[] axis about which the thumb curls, right-handed; towards the palm unless told (vector {x, y, z})
---@field thumb_curl? number how far each joint of the thumb turns as it is curled (number, deg, 1 to 170, default 50)

---fingers or toes that curl, spread and cup together, each on its own, and joint by joint, version 1.0.0
---@class fid.modules.digits: fid.Instance
---@field controls { digits: fid.Bone }
---@field mounts { base: fid.Bone }
---@field sliders { cup: fid.Channel, curl: fid.Channel, curl_1: fid.Channel, curl_2: fid.Channel, curl_3: fid.Channel, curl_4: fid.Channel, spread: fid.Channel, thumb: fid.Channel, thumb_out: fid.Channel }
---@field chains { index: fid.Chain, little: fid.Chain, middle: fid.Chain, ring: fid.Chain, thumb: fid.Chain }

---@class (exact) fid.modules.eye_stalk.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field gaze? fid.Vec|number[] where the eye looks at rest (vector {x, y, z}, default [0, 0, 1])
---@field guides (fid.Vec|number[])[]|fid.Chain joints of the stalk, from its base to the center of the eye; laid flat if within 2 degrees (list of points, m, 4 elements or more)
---@field inside (fid.Vec|number[])[]|fid.Chain the way of the eye into the body: halfway, then where it ends (list of points, m, 2 elements or more)
---@field radius number radius of the eye (number, m, 0.0001 to 1000)
---@field reach? number longest reach as a ratio of the length (number, 1 to 4, default 1.3)

---an eye on a stalk that bends, curls, stretches and retracts, with every control free on top, version 1.1.0
---@class fid.modules.eye_stalk: fid.Instance
---@field controls { base: fid.Bone, curl: fid.Bone, eye: fid.Bone, grow: fid.Bone, look: fid.Bone }
---@field mounts { ball: fid.Bone, base: fid.Bone, eye: fid.Bone }
---@field sliders { retract: fid.Channel, turn: fid.Channel }
---@field chains { joints: fid.Chain, stalk: fid.Chain }

---@class (exact) fid.modules.foot.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field ball fid.Vec|number[] joint of the toes (point {x, y, z}, m)
---@field break_at? number how far the foot rolls over its ball before it rolls over its tip (number, deg, 0 to 90, default 45)
---@field goal fid.Bone control of the leg's goal: it gets the sliders, and the foot rolls on it (bone)
---@field heel fid.Vec|number[] where the heel touches the ground (point {x, y, z}, m)
---@field inner? fid.Vec|number[] inner edge of the sole; with the outer one the foot banks (point {x, y, z}, m)
---@field outer? fid.Vec|number[] outer edge of the sole (point {x, y, z}, m)
---@field target fid.Bone bone below that control which the leg's end meets, at the ankle (bone)
---@field tip fid.Vec|number[] tip of the toes (point {x, y, z}, m)
---@field up? fid.Vec|number[] away from the ground (vector {x, y, z}, default [0, 1, 0])

---a foot that rolls over heel, ball and tip, banks and twists, on the end of a leg, version 1.0.0
---@class fid.modules.foot: fid.Instance
---@field controls { ball: fid.Bone, heel: fid.Bone, inner: fid.Bone, outer: fid.Bone, tip: fid.Bone, toe: fid.Bone, twist: fid.Bone }
---@field mounts { foot: fid.Bone, toe: fid.Bone }
---@field sliders { bank: fid.Channel, roll: fid.Channel, toes: fid.Channel, twist: fid.Channel }
---@field chains {}

---@class (exact) fid.modules.jaw.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field from? number part of the opening after which the hinge begins to slide (number, 0 to 0.9, default 0.3)
---@field hinge fid.Vec|number[] middle of the hinge, with the jaw closed (point {x, y, z}, m)
---@field open? number how far it opens (number, deg, 1 to 120, default 35)
---@field play? number how far the control may turn it sideways and roll it (number, deg, 0 to 45, default 10)
---@field shift? number how far it shifts sideways; a tenth of the length unless told (number, m, 0 to 1000, computed unless given)
---@field slide? fid.Vec|number[] where the middle of the hinge has slid to when the jaw is wide open; 8 % of the length forwards unless told (point {x, y, z}, m, computed unless given)
---@field thrust? number how far it is thrust forwards or drawn back; 8 % of the length unless told (number, m, 0 to 1000, computed unless given)
---@field tip fid.Vec|number[] front end of the jaw, closed (point {x, y, z}, m)
---@field up? fid.Vec|number[] up axis: the jaw opens away from it (vector {x, y, z}, default [0, 1, 0])
---@field yaw? number how far it turns sideways when it is shifted all the way (number, deg, 0 to 45, default 4)

---a jaw that opens about a hinge which slides as it opens, with side shift, thrust and limits, version 1.0.0
---@class fid.modules.jaw: fid.Instance
---@field controls { jaw: fid.Bone }
---@field mounts { jaw: fid.Bone }
---@field sliders { open: fid.Channel, side: fid.Channel, thrust: fid.Channel }
---@field chains {}

---@class (exact) fid.modules.lids.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field eye fid.Bone the eye: its base is the center, its aim axis the gaze (bone)
---@field follow? number how much of the eye's way up and down the lids follow, until the slider says otherwise (number, 0 to 1, default 0.6)
---@field line? number how far over the gaze the lids meet (number, deg, -85 to 85, default -8)
---@field lower? number how far under the gaze the edge of the lower lid rests (number, deg, 1 to 85, default 35)
---@field radius number radius of the eye (number, m, 0.0001 to 1000)
---@field thick? number how far the edges of the lids are off the eye; a twentieth of the radius unless told (number, m, 0 to 1000, computed unless given)
---@field up? fid.Vec|number[] where the upper lid is (vector {x, y, z}, default [0, 1, 0])
---@field upper? number how far over the gaze the edge of the upper lid rests (number, deg, 1 to 85, default 40)
---@field wide? number how far a lid may open beyond rest (number, deg, 1 to 60, default 20)

---an upper and a lower lid that turn about the eye, follow its gaze, blink and meet at a line that can be moved, version 1.0.0
---@class fid.modules.lids: fid.Instance
---@field controls { blink: fid.Bone, lower: fid.Bone, upper: fid.Bone }
---@field mounts { lower: fid.Bone, socket: fid.Bone, upper: fid.Bone }
---@field sliders { close: fid.Channel, follow: fid.Channel, meet: fid.Channel }
---@field chains {}

---@class (exact) fid.modules.limb.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field guides (fid.Vec|number[])[]|fid.Chain shoulder, elbow, wrist, or hip, knee, ankle (list of points, m, 3 to 3 elements)
---@field hinge? fid.Vec|number[] axis about which a limb bends that rests straight, right-handed; guides that bend by 3 degrees or more need none (vector {x, y, z})
---@field limits? "none"|"arm_boone_azen"|"arm_aaos"|"arm_ama"|"leg_cdc_girls"|"leg_cdc_boys" published ranges of motion that the joints are held in (one of none, arm_boone_azen, arm_aaos, arm_ama, leg_cdc_girls, leg_cdc_boys, default none)
---@field lower_bones? integer deform bones of the lower, which share the twist of the end; one takes none of it (whole number, 1 to 8, default 2)
---@field reach? number longest reach as a ratio of the length; 1: it never stretches (number, 1 to 4, default 1.25)
---@field rides? (table)[] what goal and pole may ride on besides the character and the world: {name, bone} each (list of (table), default [])
---@field soft? number part of the reach in which it slows down before it is straight (number, 0 to 0.5, default 0.02)
---@field target? boolean a bone between the goal and the end, for what moves the end on the goal (the module foot) (true or false, default false)
---@field tip? fid.Vec|number[] tip of the hand or foot; without it the end has no deform bone (point {x, y, z}, m)
---@field upper_bones? integer deform bones of the upper, which share its twist; one takes all of it (whole number, 1 to 8, default 2)

---an arm or a leg of two segments, led by a goal or by its joints, with bones that share its twist, version 1.0.0
---@class fid.modules.limb: fid.Instance
---@field controls { base: fid.Bone, goal: fid.Bone, lower: fid.Bone, pole: fid.Bone, tip: fid.Bone, upper: fid.Bone }
---@field mounts { base: fid.Bone, target: fid.Bone, tip: fid.Bone }
---@field sliders { lead: fid.Channel, reach: fid.Channel, swivel: fid.Channel, turn: fid.Channel }
---@field chains { joints: fid.Chain }

---@class (exact) fid.modules.neck.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field falloff? fid.Curve|table how much the neck has turned of what its control is turned by, over the place from 0 (body) to 1 (head) (fid.curve{}, default {"points": [[0, 0], [1, 1]]})
---@field guides (fid.Vec|number[])[]|fid.Chain joints of the neck, from the body to where the head turns (list of points, m, 3 to 200 elements)
---@field head? fid.Vec|number[] tip of the head; without it no deform bone of the head (point {x, y, z}, m)
---@field size? number size of the controls; a third of the length unless told (number, m, 0.0001 to 1000)
---@field stretch? number how far the slider stretches and squashes, as a ratio of the length (number, 0.01 to 0.9, default 0.4)
---@field up? fid.Vec|number[] where the back of the neck is: -Z for one that rises, +Y for one that reaches forward, unless told (vector {x, y, z}, computed unless given)

---a neck that one control bends with a falloff, under a head that follows it or stays level, version 1.0.0
---@class fid.modules.neck: fid.Instance
---@field controls { head: fid.Bone, neck: fid.Bone }
---@field mounts { head: fid.Bone }
---@field sliders { level: fid.Channel, level_with: fid.Channel, stretch: fid.Channel }
---@field chains { joints: fid.Chain, neck: fid.Chain }

---@class (exact) fid.modules.prop.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field at fid.Vec|number[] foot of the prop (point {x, y, z}, m)
---@field carriers? (table)[] who carries it: {name =, hand = bone on which the grip lands, grip = its number, goal = control that may ride on the prop} (list of (table), up to 16 elements, default [])
---@field grips (fid.Vec|number[])[]|fid.Chain where it is held; grips turn as the prop does, +Z along it (list of points, m, 1 to 16 elements)
---@field longest? number longest length as a ratio, where sections overlap at rest (number, 1 to 4, default 1)
---@field rides? (table)[] what the prop may ride on besides the character and the world, as it leads: {name, bone} each (list of (table), default [])
---@field sections? integer sections of the pole; two or more slide into each other (whole number, 1 to 16, default 1)
---@field shortest? number shortest length of a telescoping pole as a ratio; all sections in one unless told (number, 0.01 to 1, computed unless given)
---@field to fid.Vec|number[] its tip (point {x, y, z}, m)
---@field up? fid.Vec|number[] up axis of the prop and its grips, along which a hand holds it (vector {x, y, z})

---something that hands carry at grips, or that leads the hands, with a pole that telescopes, version 1.0.0
---@class fid.modules.prop: fid.Instance
---@field controls { lead: fid.Bone, prop: fid.Bone }
---@field mounts { prop: fid.Bone, tip: fid.Bone }
---@field sliders { length: fid.Channel, space: fid.Channel }
---@field chains { pole: fid.Chain }

---@class (exact) fid.modules.root.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field at? fid.Vec|number[] where the character stands, on the ground (point {x, y, z}, m, default [0, 0, 0])
---@field center fid.Vec|number[] its center of gravity: what the whole body turns about (point {x, y, z}, m)
---@field facing? fid.Vec|number[] where it faces, along the ground (vector {x, y, z}, default [0, 0, 1])
---@field scales? number[] smallest and largest scale of the character (range {lowest, highest}, 0.001 to 1000, default [0.1, 10])
---@field size? number size of the placement; half the height of the center unless told (number, m, 0.0001 to 10000)

---where a character stands and how large it is, and its center of gravity, version 1.0.0
---@class fid.modules.root: fid.Instance
---@field controls { cog: fid.Bone, placement: fid.Bone }
---@field mounts { cog: fid.Bone, placement: fid.Bone }
---@field sliders {}
---@field chains {}

---@class (exact) fid.modules.spine_falloff.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field falloff? fid.Curve|table how much a joint takes of the end control, over its place from 0 (root) to 1 (end) (fid.curve{}, default {"points": [[0, 0], [1, 1]]})
---@field guides (fid.Vec|number[])[]|fid.Chain joints of the body, from its root to its end (list of points, m, 3 elements or more)
---@field size? number size of the controls; a third of the length unless told (number, m, 0.001 to 1000)
---@field stretch? number how far the slider stretches and squashes, as a ratio of the length (number, 0 to 0.9, default 0.5)
---@field up? fid.Vec|number[] up axis of the controls (vector {x, y, z}, default [0, 1, 0])

---a body that one control moves and another curves with a falloff, a free control on every joint, version 1.0.0
---@class fid.modules.spine_falloff: fid.Instance
---@field controls { main: fid.Bone, tip: fid.Bone }
---@field mounts { root: fid.Bone, tip: fid.Bone }
---@field sliders { stretch: fid.Channel }
---@field chains { body: fid.Chain, joints: fid.Chain }

---@class (exact) fid.modules.stretch_leg.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field body? fid.Bone what the foot may ride on besides the world (bone)
---@field fine? boolean a control on every joint (true or false, default true)
---@field guides (fid.Vec|number[])[]|fid.Chain hip, joints, ankle; laid flat if within 2 degrees (list of points, m, 3 elements or more)
---@field reach? number longest reach as a ratio of the length (number, 1 to 4, default 1.25)
---@field target? boolean a bone between foot control and end, for what moves the end on it (the module foot) (true or false, default false)
---@field toe? fid.Vec|number[] tip of the foot; without it no foot bone (point {x, y, z}, m)

---stretching leg of any number of segments, a fine control on every joint, version 1.1.0
---@class fid.modules.stretch_leg: fid.Instance
---@field controls { foot: fid.Bone, pole: fid.Bone }
---@field mounts { hip: fid.Bone, target: fid.Bone, tip: fid.Bone }
---@field sliders {}
---@field chains { joints: fid.Chain, leg: fid.Chain }

---@class (exact) fid.modules.tail.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field bones? integer how many deform bones, of equal length along the guides (whole number, 2 to 250, default 12)
---@field controls? integer how many controls the curve goes through, root and tip among them (whole number, 2 to 16, default 4)
---@field falloff? fid.Curve|table how much the controls between go with the tip, over their place from 0 (root) to 1 (tip) (fid.curve{}, default {"power": 1.5})
---@field fine? boolean a control on every joint (true or false, default true)
---@field guides (fid.Vec|number[])[]|fid.Chain way of the tail, from its root to its tip (list of points, m, 3 elements or more)
---@field size? number size of the root control; a fifth of the length unless told (number, m, 0.0001 to 1000)
---@field up? fid.Vec|number[] up axis of the controls and bones; +Y, for a tail that hangs or stands +Z, unless told (vector {x, y, z}, computed unless given)

---a tail of any number of bones along a curve through few controls, with a tip that rides on the body, the rig or the world, version 1.0.0
---@class fid.modules.tail: fid.Instance
---@field controls { base: fid.Bone, middle1: fid.Bone, middle2: fid.Bone, tip: fid.Bone }
---@field mounts { base: fid.Bone, tip: fid.Bone }
---@field sliders { space: fid.Channel, stretch: fid.Channel }
---@field chains { joints: fid.Chain, tail: fid.Chain }

---@class (exact) fid.modules.tentacle.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field bend_axis? fid.Vec|number[] axis about which it curls, swings and reaches; the part square to the tentacle counts (vector {x, y, z}, default [1, 0, 0])
---@field body? fid.Bone what the tip may ride on besides the root, the rig and the world (bone)
---@field bones? integer how many deform bones, of equal length along the guides (whole number, 4 to 200, default 24)
---@field curl? number how far the slider curls it in all, both ways (number, deg, 10 to 7200, default 1080)
---@field envelope? fid.Curve|table how much of the wave there is, over the place from 0 (root) to 1 (tip) (fid.curve{}, default {"points": [[0, 0], [0.3, 1], [1, 1]]})
---@field falloff? fid.Curve|table how much of the curl is reached, over the place from 0 (root) to 1 (tip) (fid.curve{}, default {"points": [[0, 0], [1, 1]]})
---@field fine? boolean a control on every joint (true or false, default true)
---@field guides (fid.Vec|number[])[]|fid.Chain way of the tentacle, from its root to its tip (list of points, m, 2 elements or more)
---@field reach? number longest reach as a ratio of the length (number, 1 to 4, default 1.2)
---@field size? number size of the root control; an eighth of the length unless told (number, m, 0.0001 to 1000)
---@field wave? number how far the slider swings it, both ways (number, deg, 1 to 120, default 60)
---@field waves? number how many waves the slider lays along it at most (number, 0.5 to 10, default 3)

---a long chain that curls over several turns, swings in waves that travel, tapers, and reaches where its tip is wanted, version 1.0.0
---@class fid.modules.tentacle: fid.Instance
---@field controls { base: fid.Bone, tip: fid.Bone }
---@field mounts { base: fid.Bone, tip: fid.Bone }
---@field sliders { curl: fid.Channel, lead: fid.Channel, phase: fid.Channel, taper: fid.Channel, turn: fid.Channel, wave: fid.Channel, waves: fid.Channel }
---@field chains { joints: fid.Chain, tentacle: fid.Chain }

---@class (exact) fid.modules.wing.arguments
---@field id string What its bones belong to: small letters and digits
---@field side? "left"|"right"|"center" The right side is the mirrored world
---@field parent? fid.Bone What it hangs from
---@field along? fid.Vec|number[] where the digits of the folded wing point (vector {x, y, z}, default [0, 0, -1])
---@field digits? ((fid.Vec|number[])[]|fid.Chain)[] the joints of each digit, from its knuckle to its tip; the leading digit first (list of (list of points, m, 2 elements or more), up to 12 elements, default [])
---@field gap? number angle that stays between two closed digits (number, deg, 0 to 20, default 3)
---@field guides (fid.Vec|number[])[]|fid.Chain joints of the arm: shoulder, elbow, wrist, and where the digits begin if that is farther out (list of points, m, 3 to 5 elements)
---@field opening? number angle that stays between two segments of the folded arm (number, deg, 0 to 60, default 10)
---@field size? number size of the shoulder control; a quarter of the arm's length unless told (number, m, 0.0001 to 1000)
---@field tuck? number how far the folded wing is turned down about the way along the body (number, deg, -120 to 120, default 30)
---@field up? fid.Vec|number[] axis about which it folds: square to the spread wing (vector {x, y, z}, default [0, 1, 0])

---a wing whose joints fold one after another against the body, with digits that spread and a membrane between them, version 1.0.0
---@class fid.modules.wing: fid.Instance
---@field controls { shoulder: fid.Bone }
---@field mounts { hand: fid.Bone, palm: fid.Bone, shoulder: fid.Bone }
---@field sliders { fold: fid.Channel, spread: fid.Channel }
---@field chains { arm: fid.Chain, digit1: fid.Chain, digit2: fid.Chain, digit3: fid.Chain, joints: fid.Chain }

---Builds an instance of a module: "name", "name 1.2.0" or "name ^1.2"
---@overload fun(self: fid.Rig, module: "clasp"|"clasp 1.0.0"|"clasp ^1"|"clasp ^1.0"|"clasp ^1.0.0", arguments: fid.modules.clasp.arguments): fid.modules.clasp
---@overload fun(self: fid.Rig, module: "digits"|"digits 1.0.0"|"digits ^1"|"digits ^1.0"|"digits ^1.0.0", arguments: fid.modules.digits.arguments): fid.modules.digits
---@overload fun(self: fid.Rig, module: "eye_stalk"|"eye_stalk 1.1.0"|"eye_stalk ^1"|"eye_stalk ^1.0"|"eye_stalk ^1.1"|"eye_stalk ^1.1.0", arguments: fid.modules.eye_stalk.arguments): fid.modules.eye_stalk
---@overload fun(self: fid.Rig, module: "foot"|"foot 1.0.0"|"foot ^1"|"foot ^1.0"|"foot ^1.0.0", arguments: fid.modules.foot.arguments): fid.modules.foot
---@overload fun(self: fid.Rig, module: "jaw"|"jaw 1.0.0"|"jaw ^1"|"jaw ^1.0"|"jaw ^1.0.0", arguments: fid.modules.jaw.arguments): fid.modules.jaw
---@overload fun(self: fid.Rig, module: "lids"|"lids 1.0.0"|"lids ^1"|"lids ^1.0"|"lids ^1.0.0", arguments: fid.modules.lids.arguments): fid.modules.lids
---@overload fun(self: fid.Rig, module: "limb"|"limb 1.0.0"|"limb ^1"|"limb ^1.0"|"limb ^1.0.0", arguments: fid.modules.limb.arguments): fid.modules.limb
---@overload fun(self: fid.Rig, module: "neck"|"neck 1.0.0"|"neck ^1"|"neck ^1.0"|"neck ^1.0.0", arguments: fid.modules.neck.arguments): fid.modules.neck
---@overload fun(self: fid.Rig, module: "prop"|"prop 1.0.0"|"prop ^1"|"prop ^1.0"|"prop ^1.0.0", arguments: fid.modules.prop.arguments): fid.modules.prop
---@overload fun(self: fid.Rig, module: "root"|"root 1.0.0"|"root ^1"|"root ^1.0"|"root ^1.0.0", arguments: fid.modules.root.arguments): fid.modules.root
---@overload fun(self: fid.Rig, module: "spine_falloff"|"spine_falloff 1.0.0"|"spine_falloff ^1"|"spine_falloff ^1.0"|"spine_falloff ^1.0.0", arguments: fid.modules.spine_falloff.arguments): fid.modules.spine_falloff
---@overload fun(self: fid.Rig, module: "stretch_leg"|"stretch_leg 1.1.0"|"stretch_leg ^1"|"stretch_leg ^1.0"|"stretch_leg ^1.1"|"stretch_leg ^1.1.0", arguments: fid.modules.stretch_leg.arguments): fid.modules.stretch_leg
---@overload fun(self: fid.Rig, module: "tail"|"tail 1.0.0"|"tail ^1"|"tail ^1.0"|"tail ^1.0.0", arguments: fid.modules.tail.arguments): fid.modules.tail
---@overload fun(self: fid.Rig, module: "tentacle"|"tentacle 1.0.0"|"tentacle ^1"|"tentacle ^1.0"|"tentacle ^1.0.0", arguments: fid.modules.tentacle.arguments): fid.modules.tentacle
---@overload fun(self: fid.Rig, module: "wing"|"wing 1.0.0"|"wing ^1"|"wing ^1.0"|"wing ^1.0.0", arguments: fid.modules.wing.arguments): fid.modules.wing
---@param module "antenna"|"antenna 1.0.0"|"antenna ^1"|"antenna ^1.0"|"antenna ^1.0.0"
---@param arguments fid.modules.antenna.arguments
---@return fid.modules.antenna an Instance
function Rig:use(module, arguments) end

---@class fid.mirror_arguments
---@field [any] any Instead of what is reflected from the instance; points as they lie on the new side

---Builds the counterpart of a sided instance on the other side
---@param instance fid.Instance
---@param arguments fid.mirror_arguments
---@return fid.Instance an Instance
function Rig:mirror(instance, arguments) end

---@class fid.fail_arguments
---@field message string What is wrong, and what to do (text, required)
---@field param? string The parameter that it is about (text)

---Ends the build of a module with an error at the line that uses it
---@param arguments fid.fail_arguments
function Rig:fail(arguments) end

---Gives the bone with that name or address, or nil
---@param name string
---@return fid.Bone|nil a Bone or nil
function Rig:find(name) end

---@class fid.bones_arguments
---@field role? "deform"|"helper"|"control" Bones of this role only
---@field side? "left"|"right"|"center" Bones of this side only
---@field id? string Bones of this instance only
---@field part? string Bones of this part only
---@field level? "everyday"|"fine"|"setup" Bones of this level only
---@field tag? string Bones with this tag only
---@field display_set? fid.Set|string Bones of this display set only

---Gives the bones that fit, in the order in which they were made
---@param arguments fid.bones_arguments
---@return (fid.Bone)[] a list of Bones
function Rig:bones(arguments) end

---@class fid.pose_arguments
---@field [any] any translation, rotation (degrees) or quaternion, scale, and sliders by their names; of a constraint weight

---Makes a pose of a table or of the path of a pose file
---@param arguments fid.pose_arguments|string
---@return fid.Pose a Pose
function Rig:pose(arguments) end

---Solves a pose, or the rig at rest where none is given
---@param pose fid.Pose|table|string
---@return fid.Solved a Solved
function Rig:solve(pose) end

---@class fid.match_arguments
---@field value number The value that it is switched to (number, or the name of a choice, required)
---@field slider fid.Channel The slider that switches, required
---@field set table[] What is posed, in order, so that nothing jumps, required

---Says how a slider is switched to a value without a jump, for rig:switch and importers
---@param arguments fid.match_arguments
---@return fid.Channel the Channel of the slider
function Rig:match(arguments) end

---Sets a slider, and poses what its match at that value names, or what rides by it, so that nothing jumps
---@param pose fid.Pose What to start from
---@param slider fid.Channel|any Such as bone.channel["space"]
---@param choice number Its new value
---@return fid.Pose a Pose, and a list of texts: notes about what could not be kept
function Rig:switch(pose, slider, choice) end

---@class fid.check_arguments
---@field poses? number How many random poses are tried, 0 to 1000000, default 500
---@field seed? number Which random poses: the same seed gives the same ones, 0 to 16777216, default 1
---@field only? string[] The codes of the rules that are tried; all unless told
---@field severity? "note"|"warning"|"error" The mildest findings that are given, default note

---Tries the rules
---@param arguments fid.check_arguments
---@return (table)[] a list of tables: code severity subject message hint value threshold pose origins
function Rig:check(arguments) end

---@class fid.copy_arguments
---@field under? fid.Bone|"each" What the copies hang from; "each": every copy from its original (Bone or "each")
---@field part? string What the bone is: small letters and digits
---@field role? "deform"|"helper"|"control" What it is for: to deform the skin, to help other bones, to be posed
---@field takes? ("translation"|"rotation"|"scale")[]|"all" What it takes from its parent: translation, rotation, scale
---@field level? "everyday"|"fine"|"setup" How often an animator needs it
---@field display_set? fid.Set|string The display set that it is shown with; a control without one is put into LEVEL_SIDE
---@field outline? fid.Outline|"circle"|"square"|"box"|"arrow" The curve that is drawn for it
---@field tags? string[] Words by which it can be found
---@field channels? string[] What animators may pose; of controls translation and rotation unless told, of others nothing

---Makes bones in the same places. What is not told is as in the original
---@param arguments fid.copy_arguments
---@return fid.Chain a Chain
function Chain:copy(arguments) end

---@class fid.module_arguments
---@field name string As its folder is called: small letters, digits and '_' (text, required)
---@field version string Three numbers, as in "1.0.0" (text, required)
---@field summary string What it makes, in one line (text, required)
---@field params? table name = {type, doc, unit, min, max, default, optional, choices, flat, of} (table of declarations)
---@field build function Builds an instance; gives a table of mounts, controls, sliders, chains, bones by name (function(rig, p), required)
---@field needs? (string)[] Modules that it uses, as in {"name ^1.2"} (list of texts)
---@field moved? any Names of before: params, results, parts, sliders, each {old = "new"} (table of tables)

---What the module.lua of a module returns
---@param arguments fid.module_arguments
---@return fid.Module a Module
function fid.module(arguments) end

---@class fid.recipe_arguments
---@field params? table As those of fid.module{}; --param NAME=VALUE sets them (table of declarations)
---@field build function Gives the rig (function(p), required)

---What a recipe with parameters returns
---@param arguments fid.recipe_arguments
---@return fid.Recipe a Recipe
function fid.recipe(arguments) end

---@class fid.tests_arguments
---@field module string The name of the module (text, required)
---@field height? number Of the rig that each case gets (number, m, above 0 to 10000, default 1)
---@field example? table Parameters with which the module stands alone; id, side and parent, too. A function makes the bones that they need first (table, or function(rig))
---@field poses? (any)[] For pictures: each gives the table of a pose, as rig:pose{} takes it (list of {name, function(instance)})
---@field cases (any)[] What the module promises, each a sentence; see 'fid help Test' (list of {name, function(t)}, required)

---What the test.lua of a module returns; 'fid test' runs them
---@param arguments fid.tests_arguments
---@return fid.Test a Tests
function fid.tests(arguments) end

---Makes a point or direction. {x, y, z} is as good as an argument
---@param x number
---@param y number
---@param z number
---@return fid.Vec a Vec
function fid.vec(x, y, z) end

---@class fid.frame_arguments
---@field at? fid.Vec Its origin (point {x, y, z}, m, default {0, 0, 0})
---@field aim? fid.Vec Where its +Z points (direction {x, y, z}, default {0, 0, 1})
---@field up? fid.Vec Towards what its +Y or +X turns (direction {x, y, z})
---@field across? fid.Vec Towards what its +Y or +X turns (direction {x, y, z})
---@field at? fid.Vec Its origin, its axes (points)
---@field aim? fid.Vec Its origin, its axes (points)
---@field up? fid.Vec Its origin, its axes (points)
---@field across? fid.Vec Its origin, its axes (points)
---@field rotation? (number)[] Its quaternion {x, y, z, w} (list of numbers)

---Makes a frame
---@param arguments fid.frame_arguments
---@return fid.Frame a Frame
function fid.frame(arguments) end

---@class fid.curve_arguments
---@field points? (any)[] What it goes through; held beyond its ends (list of {x, y} with rising x)
---@field interpolation? "smooth"|"linear" How it goes from point to point (one of smooth, linear, default smooth)
---@field power? number Instead of points: |x|^power with the sign of x (number, above 0 to 100)

---Makes a response for rig:drive{}
---@param arguments fid.curve_arguments
---@return fid.Curve a Curve
function fid.curve(arguments) end

---Reads a JSON or CSV file from the folder of the recipe or module
---@param path string
---@return table a table
function fid.data(path) end

---Begins a row of random numbers: the same seed gives the same ones
---@param seed integer
---@return fid.Random a Random
function fid.random(seed) end

---Goes through two chains or lists of one length side by side
---@param a any
---@param b any
---@return any an iterator
function fid.zip(a, b) end

---Gives the fields of a name: id, part, index, side, role
---@param name string
---@param naming table
---@return table a table
function fid.name.parse(name, naming) end

---Lays three or more points flat
---@param points (fid.Vec|number[])[]|fid.Chain
---@return table a table
function fid.points.plane(points) end

---Gives a point, or a list of points, on the other side
---@param points (fid.Vec|number[])[]|fid.Chain
---@return (fid.Vec)[] a list of points
function fid.points.mirror(points) end

---@class fid.points_line_arguments
---@field from fid.Vec The first (point {x, y, z}, m, required)
---@field to fid.Vec The last (point {x, y, z}, m, required)
---@field count integer How many (whole number, 2 to 4096, required)

---Gives points at equal distances on a line
---@param arguments fid.points_line_arguments
---@return (fid.Vec)[] a list of points
function fid.points.line(arguments) end

---@class fid.points_arc_arguments
---@field from fid.Vec The first (point {x, y, z}, m, required)
---@field center fid.Vec A point of the axis of the circle (point {x, y, z}, m, required)
---@field axis fid.Vec About which the points turn, the right-handed way (direction {x, y, z}, required)
---@field degrees number How far the last is turned (number, deg, required)
---@field count integer How many (whole number, 2 to 4096, required)

---Gives points at equal distances on a circle
---@param arguments fid.points_arc_arguments
---@return (fid.Vec)[] a list of points
function fid.points.arc(arguments) end

---Gives points at equal distances along a row of points
---@param points (fid.Vec|number[])[]|fid.Chain
---@param count integer
---@return (fid.Vec)[] a list of points
function fid.points.resample(points, count) end

---Gives the row of points with each segment divided into equal parts
---@param points (fid.Vec|number[])[]|fid.Chain
---@param parts integer
---@return (fid.Vec)[] a list of points
function fid.points.split(points, parts) end

---@class fid.outline_circle_arguments
---@field size number How large it is (number, m, above 0 to 10000, required)
---@field axis? "x"|"y"|"z" The axis of the bone to which it is square (one of x, y, z, default y)
---@field at? fid.Vec Its center in the bone's own space (point {x, y, z}, m, default {0, 0, 0})

---Makes an outline for a control
---@param arguments fid.outline_circle_arguments
---@return fid.Outline an Outline
function fid.outline.circle(arguments) end

---@class fid.outline_square_arguments
---@field size number How large it is (number, m, above 0 to 10000, required)
---@field axis? "x"|"y"|"z" The axis of the bone to which it is square (one of x, y, z, default y)
---@field at? fid.Vec Its center in the bone's own space (point {x, y, z}, m, default {0, 0, 0})

---Makes an outline for a control
---@param arguments fid.outline_square_arguments
---@return fid.Outline an Outline
function fid.outline.square(arguments) end

---@class fid.outline_box_arguments
---@field size number How large it is (number, m, above 0 to 10000, required)
---@field axis? "x"|"y"|"z" The axis of the bone to which it is square (one of x, y, z, default y)
---@field at? fid.Vec Its center in the bone's own space (point {x, y, z}, m, default {0, 0, 0})

---Makes an outline for a control
---@param arguments fid.outline_box_arguments
---@return fid.Outline an Outline
function fid.outline.box(arguments) end

---@class fid.outline_arrow_arguments
---@field size number How large it is (number, m, above 0 to 10000, required)
---@field axis? "x"|"y"|"z" The axis of the bone to which it is square (one of x, y, z, default y)
---@field at? fid.Vec Its center in the bone's own space (point {x, y, z}, m, default {0, 0, 0})

---Makes an outline for a control
---@param arguments fid.outline_arrow_arguments
---@return fid.Outline an Outline
function fid.outline.arrow(arguments) end

---@class fid.outline_line_arguments
---@field points (fid.Vec)[] In the bone's own space (list of points, m, required)
---@field closed? boolean|boolean Whether it goes back to the first (true or false, default false)

---Makes an outline of one line for a control
---@param arguments fid.outline_line_arguments
---@return fid.Outline an Outline
function fid.outline.line(arguments) end

return fid
