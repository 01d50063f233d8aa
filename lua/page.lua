-- The page of a module: Markdown and pictures.

local describe = require "describe"
local example = require "example"
local results = require "results"
local schema = require "schema"
local tests = require "tests"

local page = {}

-- A text in a cell of a table.
local function cell(text)
  return (text:gsub("[|<\r\n]", { ["|"] = "\\|", ["<"] = "&lt;", ["\r"] = "", ["\n"] = " " }))
end

local function code(text)
  return "`" .. text .. "`"
end

-- A section with a table, or nothing where there are no rows.
local function add_table(out, title, head, rows)
  if #rows == 0 then return end
  local lines = { "| " .. table.concat(head, " | ") .. " |", "|" .. ("---|"):rep(#head) }
  for _, row in ipairs(rows) do lines[#lines + 1] = "| " .. table.concat(row, " | ") .. " |" end
  out[#out + 1] = ("%s\n\n%s\n"):format(title, table.concat(lines, "\n"))
end

-- The paragraphs of a text in Markdown: what stands between empty lines, fenced code as one.
local function paragraphs(text)
  local list, lines, fence = {}, {}, nil
  local function close()
    if #lines > 0 then list[#list + 1] = lines end
    lines = {}
  end
  for line in (text:gsub("\r\n", "\n") .. "\n"):gmatch "(.-)\n" do
    local mark = line:match "^%s*(```+)" or line:match "^%s*(~~~+)"
    if not fence and mark then close() end
    if fence or line:find "%S" then
      lines[#lines + 1] = line
    else
      close()
    end
    if fence and mark and line:match("^%s*" .. fence .. "`*~*%s*$") then
      fence = nil
      close()
    elseif not fence then
      fence = mark
    end
  end
  close()
  return list
end

-- What README.md says by hand: not its title, and not what the page tells itself, the table of the parameters and the
-- example in Lua. Headings with nothing left below them go, too.
local function handwritten(text)
  local kept = {}
  for i, lines in ipairs(paragraphs(text)) do
    local first = lines[1]
    local is_told = (i == 1 and first:find "^# ") or first:find "^%s*```+lua" or first:lower():find "^|%s*parameters?%s*|"
    if i == 1 and first:find "^# " and #lines > 1 then
      table.remove(lines, 1)
      is_told = false
    end
    if not is_told then kept[#kept + 1] = { level = first:match "^(#+) " and #first:match "^#+", text = table.concat(lines, "\n"), is_single = #lines == 1 } end
  end
  local out = {}
  for i, paragraph in ipairs(kept) do
    local below = kept[i + 1]
    local is_empty = paragraph.level and paragraph.is_single and (not below or (below.level and below.level <= paragraph.level))
    if not is_empty then out[#out + 1] = paragraph.text .. "\n" end
  end
  return out
end

local function add_params(out, found)
  local rows = {}
  for name, spec in pairs(found.params) do
    local kind, unit, range = schema.tell_parts(spec)
    if spec.flat then range = (range and range .. ", " or "") .. ("laid flat within %.7g degrees"):format(spec.flat) end
    local default = describe.default_text(spec)
    rows[#rows + 1] = { code(name), cell(kind), cell(unit or ""), range or "", cell(default and default:gsub("^default ", "") or "none"), cell(spec.doc) }
  end
  add_table(out, "## Parameters", { "parameter", "type", "unit", "range", "default", "meaning" }, rows)
  if #rows == 0 then out[#out + 1] = "## Parameters\n\nNone.\n" end
end

local function add_needs(out, found)
  local rows = {}
  for i, need in ipairs(found.needs) do
    rows[i] = "- " .. code(need)
  end
  if #rows > 0 then out[#out + 1] = "## Needs\n\n" .. table.concat(rows, "\n") .. "\n" end
end

local function add_moved(out, found)
  local rows = {}
  for i, row in ipairs(describe.moved(found)) do rows[i] = { row[1], code(row[2]), code(row[3]) } end
  add_table(out, "## Names of before", { "what", "was", "is" }, rows)
end

local function add_results(out, instance)
  local rows = results.of(instance)
  local controls, sliders, mounts, chains, handed = {}, {}, {}, {}, {}
  for _, row in ipairs(rows.sliders) do handed[row.channel] = "sliders." .. row.name end
  local function add_slider(row)
    sliders[#sliders + 1] = {
      code(row.channel), handed[row.channel] and code(handed[row.channel]) or "", results.tell_values(row), results.tell_default(row), cell(row.doc or ""),
    }
    handed[row.channel] = handed[row.channel] or ""
  end
  local told = {}
  for _, row in ipairs(rows.controls) do
    controls[#controls + 1] = { code("controls." .. row.name), code(row.bone), row.level, results.tell_channels(row.channels) }
    for _, slider in ipairs(row.sliders) do
      if not told[slider.channel] then add_slider(slider) end
      told[slider.channel] = true
    end
  end
  for _, row in ipairs(rows.sliders) do
    if not told[row.channel] then add_slider(row) end
  end
  for _, row in ipairs(rows.mounts) do mounts[#mounts + 1] = { code("mounts." .. row.name), code(row.bone), row.role } end
  for _, row in ipairs(rows.bones) do mounts[#mounts + 1] = { code("bones." .. row.name), code(row.bone), row.role } end
  for _, row in ipairs(rows.chains) do
    chains[#chains + 1] = { code("chains." .. row.name), tostring(row.count), row.role, code(row.first) .. (row.count > 1 and " to " .. code(row.last) or "") }
  end
  if #controls + #sliders + #mounts + #chains == 0 then
    out[#out + 1] = "## What it hands out\n\nNothing.\n"
    return
  end
  out[#out + 1] = ("## What it hands out\n\nIn the example below, whose id is `%s`.\n"):format(instance.id)
  add_table(out, "### Controls", { "result", "bone", "level", "posed" }, controls)
  add_table(out, "### Sliders", { "channel", "result", "values", "default", "meaning" }, sliders)
  add_table(out, "### Mounts", { "result", "bone", "role" }, mounts)
  add_table(out, "### Chains", { "result", "bones", "role", "" }, chains)
end

-- The pictures of the example: at rest, and in each pose of the suite.
local function add_pictures(out, found, built)
  local pictures, shown = {}, {}
  for i, bone in ipairs(built.instance.bones) do shown[i] = bone end
  local function add(name, word, pose)
    local file = ("%s-%s.svg"):format(found.name, word)
    pictures[#pictures + 1] = { name = file, svg = core.picture(built.rig, pose, shown) }
    out[#out + 1] = ("### %s\n\n![%s, %s](%s)\n"):format(name:gsub("^%l", string.upper), found.name, name, file)
  end
  out[#out + 1] = "## Pictures\n"
  add("at rest", "at-rest", nil)
  for _, pose in ipairs(built.poses) do
    if pose.word == "at-rest" then core.raise("name_taken", pose.name, "a pose cannot be called 'at rest': that is how the rig is without one") end
    add(pose.name, pose.word, pose.pose)
  end
  return pictures
end

-- The page of the module that a file gave: name, version, summary, text, pictures ({ name, svg }). `suite` (of its tests)
-- and `readme` may be nil.
function page.write(value, source, suite, readme)
  local found = describe.known(value, source)
  local out = { ("# %s\n\n%s. Version %s.\n"):format(found.name, found.summary:gsub("^%l", string.upper):gsub("%.$", ""), found.version) }
  for _, text in ipairs(readme and handwritten(readme) or {}) do out[#out + 1] = text end
  add_params(out, found)
  add_needs(out, found)
  add_moved(out, found)
  local pictures = {}
  if suite then
    tests.check_module(suite, found.name)
    local built = tests.build_example(suite)
    add_results(out, built.instance)
    pictures = add_pictures(out, found, built)
    local recipe, why = example.recipe(found, built)
    out[#out + 1] = "## Example\n"
    out[#out + 1] = recipe and ("```lua\n%s```\n"):format(recipe) or ("None is shown: %s.\n"):format(why)
  else
    out[#out + 1] = "## What it hands out\n\nNot known, and there are no pictures and no example: the module has no `test.lua` that says how it stands alone.\n"
  end
  return { name = found.name, version = found.version, summary = cell(found.summary), text = table.concat(out, "\n"), pictures = pictures }
end

return page
