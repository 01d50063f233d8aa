-- fid.zip(a, b): goes through two lists or chains of the same length side by side.
--
--     for joint, control in fid.zip(joints, controls) do ... end

return function(a, b)
  local count = #a
  if count ~= #b then
    core.raise("range", nil, ("fid.zip takes two lists of the same length, not %d and %d elements"):format(count, #b))
  end
  local i = 0
  return function()
    i = i + 1
    if i <= count then return a[i], b[i] end
  end
end
