-- Opens the design, writes down what the server tells of it, of an edit, and how it lays the text out, and leaves.
local out = assert(io.open(os.getenv("TOLD"), "w"))
vim.cmd("edit " .. vim.fn.fnameescape(os.getenv("DESIGN")))
local config = { name = "ohmward", cmd = { os.getenv("OHMWARD"), "editor" }, root_dir = vim.fn.getcwd() }
if vim.lsp.start then
  vim.lsp.start(config)
else
  vim.lsp.buf_attach_client(0, vim.lsp.start_client(config))
end
-- What is shown, without the list of figures that the example leaves open.
local function shown()
  local rows = {}
  for _, row in ipairs(vim.diagnostic.get(0)) do
    local code = row.code or row.user_data.lsp.code
    if code ~= "unknown.rating" then
      table.insert(rows, (row.lnum + 1) .. ":" .. (row.col + 1) .. " " .. code .. " " .. row.message:match("[^\n]*") .. "\n")
    end
  end
  return table.concat(rows)
end
local function tell(wanted)
  vim.wait(30000, function() return shown():find(wanted, 1, true) ~= nil end, 20)
  out:write(shown(), "--\n")
end
tell("protection.missing")
local lines = vim.api.nvim_buf_get_lines(0, 0, -1, false)
for at, line in ipairs(lines) do
  if line:find("^wire W1 ") then
    vim.api.nvim_buf_set_lines(0, at - 1, at, false, {
      "fuse Fä 5 A", "fuse F 5 A blade volts 32 V breaks 1 kA", "wire W1 from B.+ to F.line 2.5 mm2 0.1 m", "wire W2 from F.load to lamp.+ 2.5 mm2 2 m",
    })
    break
  end
end
tell("language.syntax")
local first = vim.fn.search("^fuse Fä")
vim.api.nvim_buf_set_lines(0, first - 1, first, false, {})
vim.wait(30000, function() return shown() == "" end, 20)
out:write(shown(), "--\n")
-- The standard form: the cursor stays on its word.
lines = vim.api.nvim_buf_get_lines(0, 0, -1, false)
for at, line in ipairs(lines) do
  lines[at] = line:find("^load") and "\t" .. line:gsub(" ", "   ") or line
end
table.insert(lines, 1, "")
table.insert(lines, 1, "# ä 𝄞")
vim.api.nvim_buf_set_lines(0, 0, -1, false, lines)
vim.fn.search("lamp  ")
if vim.lsp.buf.format then
  vim.lsp.buf.format({ timeout_ms = 30000 })
else
  vim.lsp.buf.formatting_sync(nil, 30000)
end
out:write("on ", vim.fn.expand("<cword>"), "\n")
out:write(table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), "\n"), "\n")
out:close()
vim.cmd("qall!")
