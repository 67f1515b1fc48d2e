using NodaTime;
using School.Core.Accounts;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Accounts;

/// <summary>The price of a lesson that is booked, by the list of the day on which it was booked.</summary>
internal sealed class LessonPricing(CarPark cars, SchoolInfo school)
{
    public Task<LessonPrice?> OfAsync(Book book, LessonToCharge lesson, CancellationToken cancel) =>
        OfAsync(book, lesson.BookedAt, lesson.StartsAt, lesson.Minutes, lesson.Kind, lesson.CarId, lesson.InstructorId, cancel);

    public Task<LessonPrice?> OfAsync(Book book, LessonSheet lesson, CancellationToken cancel) =>
        OfAsync(book, lesson.BookedAt, lesson.StartsAt, lesson.Minutes, lesson.Kind, lesson.CarId, lesson.InstructorId, cancel);

    private async Task<LessonPrice?> OfAsync(
        Book book, Instant bookedAt, Instant start, int minutes, LessonKind kind, Guid carId, Guid instructorId, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var gearbox = book.Prices.All(price => price.Gearbox is null) ? Gearbox.Manual
            : (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.First(car => car.Id == carId).Facts.Gearbox;
        return book.PriceOf(new(bookedAt.InZone(facts.Zone).Date, start.InZone(facts.Zone).LocalDateTime, minutes, kind, gearbox, instructorId));
    }
}
