# cmake -DOUT=x.cpp -DROOT=shaders -DFILES="a;b" -DHEADER=h -DFUNCTION=f -P EmbedText.cmake : text files as a sorted table of
# C++ string views, which the function f() gives that the header h declares.
set(text "#include \"${HEADER}\"\n\nnamespace undercap {\n\nstd::map<std::string, std::string_view> ${FUNCTION}() {\n  return {\n")
foreach(file ${FILES})
  file(READ ${ROOT}/${file} content)
  string(APPEND text "    {\"${file}\", R\"glsl(${content})glsl\"},\n")
endforeach()
string(APPEND text "  };\n}\n\n}  // namespace undercap\n")
file(WRITE ${OUT} "${text}")
