using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>Letters that ask a pupil about a swap, or tell that it is off. Each speaks of the pupil's own lesson alone.</summary>
internal sealed class SwapMail(Outbox outbox, InstructorBook instructors)
{
    public async Task AskAsync(SwapAnswer answer, SwapBefore lesson, string secret, CancellationToken cancel)
    {
        var names = await instructors.NamesAsync(cancel);
        await outbox.WriteAsync(
            new(
                SwapWording.Asked, $"{SwapWording.Asked}:{answer.ProposalId}:{answer.LessonId}", answer.ProposalId, Receiver.Pupil(answer.PupilId),
                [
                    Fact.Of(SwapWording.Now, lesson.During), Fact.Of(SwapWording.NowWith, names[lesson.InstructorId]),
                    Fact.Of(SwapWording.Then, lesson.To), Fact.Of(SwapWording.ThenWith, names[lesson.ToInstructorId]), Fact.Of(SwapWording.Until, answer.LapsesAt),
                ])
            {
                Acts = [new(SwapWording.Answer, $"{SwapRefusals.Page(answer.ProposalId)}?key={secret}")],
                UselessAt = answer.LapsesAt,
            },
            cancel);
    }

    public Task OffAsync(SwapAnswer answer, SwapBefore lesson, SwapEnd end, CancellationToken cancel) => outbox.WriteAsync(
        new(
            SwapWording.Off, $"{SwapWording.Off}:{answer.ProposalId}:{answer.LessonId}", answer.ProposalId, Receiver.Pupil(answer.PupilId),
            [Fact.Of(SwapWording.Now, lesson.During), Fact.Of(SwapWording.End, (end is SwapEnd.Declined ? SwapEnd.Dropped : end).ToString())])
        {
            UselessAt = lesson.Start,
        },
        cancel);

    public Task WithdrawAsync(Guid swap, CancellationToken cancel) => outbox.WithdrawAsync(swap, [SwapWording.Asked], cancel);
}
