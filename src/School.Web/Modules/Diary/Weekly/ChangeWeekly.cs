using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Weekly;

/// <summary>Books, moves or cancels weekly lessons at once: makes the proposal and carries it out in the same transaction, so that there is one way.</summary>
internal sealed class ChangeWeekly(SchoolDb db, MakeProposal make, ApplyProposal apply, BookWeekly book, FollowingLessons following)
{
    /// <summary>Keeps the proposal only, to be looked at.</summary>
    public async Task<Outcome<Proposal>> ProposeAsync(Viewer viewer, WeeklyAsk ask, CancellationToken cancel)
    {
        var asked = new[] { ask.Book is not null, ask.Move is not null, ask.Cancel is not null }.Count(given => given);
        var errors = new FieldErrors()
            .When(asked != 1, nameof(ask.Book), "Say what is to become of weekly lessons: book, move or cancel, one of them.")
            .When(asked == 1 && ask.Book is null && ask.LessonId is null, nameof(ask.LessonId), "Name the weekly lesson from which on they are changed.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var pupilId = await PupilAsync(viewer, ask, cancel);
        return pupilId.Ok ? await make.RunAsync(viewer, new(ProposalKind.Weekly, ask, pupilId.Value), cancel) : pupilId.Refusal;
    }

    public async Task<Outcome<WeeklyLessons>> RunAsync(Viewer viewer, WeeklyAsk ask, CancellationToken cancel)
    {
        if (ask.Starts is { } starts && await book.WrongAsync(viewer, starts, cancel) is { } wrong)
        {
            return wrong;
        }

        return await db.InTransactionAsync<WeeklyLessons>(
            async cancel =>
            {
                var pupilId = await PupilAsync(viewer, ask, cancel);
                if (!pupilId.Ok)
                {
                    return pupilId.Refusal;
                }

                var made = await make.AddAsync(viewer, new(ProposalKind.Weekly, ask with { AllOrNone = true }, pupilId.Value), cancel);
                if (!made.Ok)
                {
                    return made.Refusal;
                }

                var applied = await apply.ApplyAsync(viewer, made.Value.Id, new(), null, cancel, justMade: true);
                return !applied.Ok ? applied.Refusal
                    : TooMuch(ask, applied.Value) is { } charged ? charged
                    : new WeeklyLessons(applied.Value.Made.Lessons[0].SeriesId ?? made.Value.Id, applied.Value.Made.Lessons);
            },
            cancel);
    }

    private static Refusal? TooMuch(WeeklyAsk ask, AppliedProposal applied) =>
        ask.Cancel is { Charged: { } told } && told != applied.Made.Lessons.Count(lesson => lesson.Chargeable == true)
            ? Refusal.Rule("charge_changed", "Which of these lessons are charged has changed since you looked, so nothing was done. Look again before you cancel.")
            : null;

    private async Task<Outcome<Guid>> PupilAsync(Viewer viewer, WeeklyAsk ask, CancellationToken cancel)
    {
        if ((ask.Book?.PupilId ?? ask.Starts?.PupilId) is { } pupilId)
        {
            return pupilId;
        }

        var found = await following.FindAsync(ask.LessonId!.Value, viewer, cancel);
        return found.Ok ? found.Value[0].PupilId : found.Refusal;
    }
}
