using NodaTime;

namespace School.Core.Cars;

/// <summary>A period in which an instructor has a car with them and may teach in it.</summary>
/// <param name="CarId">The car.</param>
/// <param name="InstructorId">The instructor who holds it.</param>
/// <param name="During">When; half-open, and may be open at either end. Holds of the same car by the same instructor
/// that touch count as one.</param>
public sealed record CarHold(Guid CarId, Guid InstructorId, Interval During);
