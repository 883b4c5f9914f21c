"""The record for other systems: HL7 FHIR R4 (4.0.1), made from what a fitting says."""
