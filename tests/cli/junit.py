"""Holds JUnit XML files against a schema: junit.py SCHEMA FILE…

Exit code 0: all are valid. 1: one is not. 77: the library xmlschema is not installed.
"""

import sys
import xml.etree.ElementTree as ElementTree

try:
    import xmlschema
except ImportError:
    sys.exit(77)

schema = xmlschema.XMLSchema(sys.argv[1])
wrong = 0
for path in sys.argv[2:]:
    try:
        errors = [str(error) for error in schema.iter_errors(path)]
        for suite in ElementTree.parse(path).getroot():
            cases = suite.findall("testcase")
            count = lambda kind: str(sum(case.find(kind) is not None for case in cases))
            counted = {"tests": str(len(cases)), "failures": count("failure"), "errors": count("error"), "skipped": count("skipped")}
            told = {key: suite.get(key) for key in counted}
            if told != counted:
                errors.append(f"{suite.get('name')}: {told} said, {counted} there")
            names = [case.get("name") for case in cases]
            if len(set(names)) != len(names):
                errors.append(f"{suite.get('name')}: two cases of one name")
    except ElementTree.ParseError as error:
        errors = [str(error)]
    for error in errors:
        print(f"{path}: {error}")
    wrong += bool(errors)
sys.exit(1 if wrong else 0)
