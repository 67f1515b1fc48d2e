using School.Core.Diary.Charges;
using School.Core.Syllabus;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;

namespace School.Web.Demo.Scale;

/// <summary>What all pupils of the made-up school have in common.</summary>
internal sealed record ScaleGround(ScaleCalendar Calendar, ScaleStaff Staff, SchoolFacts School, ChargeTerms Terms, TestDaySettings Tests, SyllabusEdition Syllabus);
