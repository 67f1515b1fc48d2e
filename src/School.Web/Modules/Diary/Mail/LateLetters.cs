using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Diary.Mail;

/// <summary>The words of the letters about a lesson that starts late.</summary>
internal static class LateLetters
{
    public static Letter Late(LetterFacts about, Instant starts, int minutes)
    {
        var time = about.School.Time(starts);
        return about.ToPupil(
            $"Running late: your lesson starts at about {time}",
            $"{about.Instructor.Name} is running late today. Your lesson starts about {Words.Count(minutes, "minute")} late, at about {time}, and keeps its full length. We are sorry for the wait.",
            [("Now about", time), .. about.Facts()],
            [$"You need not do anything. If the later time does not suit you, call your instructor{about.OrCall()}."]);
    }

    public static Letter OnTime(LetterFacts about) => about.ToPupil(
        $"On time after all: your lesson starts at {about.School.Time(about.Lesson.StartsAt)}",
        "Earlier today we told you that your lesson would start late. It now starts on time after all.",
        about.Facts(),
        []);
}
