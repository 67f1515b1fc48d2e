using NodaTime;
using School.Core.Papers;

namespace School.Core.Diary;

/// <summary>What an instructor teaches on, in the one shape that all papers have.</summary>
public static class InstructorPaperDates
{
    private static readonly PaperSource Registration = new("Road Traffic Act 1988, section 123; registration for four years from memory, the certificate decides", new(2026, 11, 25));

    private static readonly PaperSource Licence = new("Road Traffic Act 1988, section 129; gov.uk, “Trainee driving instructor licence: the rules”", new(2026, 11, 25));

    /// <summary>The registration or the trainee licence; null while it is still to be asked.</summary>
    public static Paper? Of(InstructorFacts instructor)
    {
        ArgumentNullException.ThrowIfNull(instructor);
        var trainee = instructor.Kind == RegistrationKind.Trainee;
        return instructor.RegisteredTo == InstructorFacts.NotAsked
            ? null
            : new(PaperHolder.Instructor, instructor.Id, trainee ? PaperKind.TraineeLicence : PaperKind.Registration, instructor.RegisteredFrom, instructor.RegisteredTo,
                PaperStops.Teaching, trainee ? Licence : Registration)
            { GoesOn = instructor.GoesOn };
    }
}
