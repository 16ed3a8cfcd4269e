# cmake -DOUT=x.cpp -DROOT=shaders -DFILES="a;b" -P EmbedText.cmake : text files as a sorted table of C++ string views.
set(text "#include \"engine/render/embedded_shaders.h\"\n\nnamespace undercap {\n\nstd::map<std::string, std::string_view> embedded_shaders() {\n  return {\n")
foreach(file ${FILES})
  file(READ ${ROOT}/${file} content)
  string(APPEND text "    {\"${file}\", R\"glsl(${content})glsl\"},\n")
endforeach()
string(APPEND text "  };\n}\n\n}  // namespace undercap\n")
file(WRITE ${OUT} "${text}")
