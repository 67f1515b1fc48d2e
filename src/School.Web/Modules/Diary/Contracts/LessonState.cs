namespace School.Web.Modules.Diary.Contracts;

internal enum LessonState
{
    Booked,
    Taught,
    Missed,
    Cancelled,
}
