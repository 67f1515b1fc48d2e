using School.Core.Cars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary;

internal static class CarWords
{
    /// <summary>"silver hatch, manual".</summary>
    public static string Of(CarCard car) => $"{car.Label}, {(car.Facts.Gearbox is Gearbox.Manual ? "manual" : "automatic")}";
}
