using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>One letter each to the pupil, to who teaches them from now on and to who did.</summary>
internal sealed class HandOverMail(Outbox outbox, InstructorBook instructors, PupilBook pupils)
{
    public async Task TellAsync(HandedOver made, IReadOnlyList<Told> moved, Viewer by, CancellationToken cancel)
    {
        var (names, pupil) = (await instructors.NamesAsync(cancel), (await pupils.CardsAsync([made.PupilId], cancel))[made.PupilId]);
        var to = (await instructors.FindAsync(made.InstructorId, cancel))!;
        List<Fact> facts =
        [
            Fact.Of(LessonFact.Pupil, pupil.Name), Fact.Of(LessonFact.Instructor, to.Name), Fact.Of(HandOverWording.From, made.From),
            .. moved.Select(one => new Fact(HandOverWording.Goes) { Parts = one.About.With() }),
            .. made.Stays.Select(one => new Fact(HandOverWording.Stays)
            {
                Parts = [Fact.Of(LessonFact.Lesson, one.During), Fact.Of(LessonFact.Instructor, names.GetValueOrDefault(one.InstructorId, ""))],
            }),
        ];
        if (to.Phone.Length > 0)
        {
            facts.Add(Fact.Of(LessonFact.InstructorPhone, to.Phone));
        }

        if (made.FormerInstructorId is { } before && before != made.InstructorId && names.TryGetValue(before, out var name))
        {
            facts.Add(Fact.Of(HandOverWording.Former, name));
        }

        await WriteAsync(HandOverWording.ToPupil, Receiver.Pupil(made.PupilId), [new(LessonFact.Open, "/diary/lessons")]);
        if (by.InstructorId != made.InstructorId)
        {
            Act[] brief = moved is [var first, ..] ? [new(HandOverWording.Brief, $"/syllabus/lessons/{first.Change.Lesson.Id}/brief")] : [];
            await WriteAsync(HandOverWording.ToNew, Receiver.Instructor(made.InstructorId), [.. brief, new(HandOverWording.Progress, $"/syllabus/progress/{made.PupilId}")]);
        }

        foreach (var former in moved.Select(one => one.Change.FormerInstructorId).Append(made.FormerInstructorId ?? made.InstructorId).Distinct())
        {
            if (former != made.InstructorId && former != by.InstructorId)
            {
                await WriteAsync($"{HandOverWording.ToFormer}:{former}", Receiver.Instructor(former), [], Fact.Of(LessonFact.Part, LessonFact.Former));
            }
        }

        Task WriteAsync(string role, Receiver receiver, IReadOnlyList<Act> acts, params Fact[] more) => outbox.WriteAsync(
            new(HandOverWording.Kind, $"{HandOverWording.Kind}:{made.ProposalId}:{role}", made.ProposalId, receiver, [.. facts, .. more]) { Acts = acts }, cancel);
    }
}
