using Npgsql;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Database;

/// <summary>Constraint names become refusals here and nowhere else. A name that is missing is a defect, so it stays an error.</summary>
internal static class ConstraintRefusals
{
    private static readonly Dictionary<string, Refusal> ByConstraint = new(StringComparer.Ordinal)
    {
        ["lessons_instructor_once"] = Refusal.Conflict("instructor_busy", "That instructor already has a lesson or a test day then. Choose another time."),
        ["lessons_pupil_once"] = Refusal.Conflict("pupil_busy", new("That pupil already has a lesson or a test day then. Choose another time.", "You already have a lesson or a test day then. Choose another time.")),
        ["lessons_car_once"] = Refusal.Conflict("car_busy", "The car is already booked then. Choose another time."),
        ["lessons_end_after_start"] = Refusal.Invalid("Minutes", "A lesson ends after it starts."),
        ["holdings_car_once"] = Refusal.Conflict("car_held", "Another instructor holds this car in that time. End that first, or choose other dates."),
        ["off_road_end_after_start"] = Refusal.Invalid("Until", "The end must be after the start."),
        ["time_off_end_after_start"] = Refusal.Invalid("Until", "The end must be after the start."),
        ["time_off_once"] = Refusal.Conflict("time_off_overlaps", "There is time off in that period already."),
        ["working_hours_end_after_start"] = Refusal.Invalid("End", "Working hours end after they start."),
        ["working_hours_once"] = Refusal.Conflict("hours_overlap", "These hours overlap others on the same weekday."),
        ["availability_once"] = Refusal.Conflict("availability_overlaps", "These times overlap others on the same weekday."),
        ["availability_end_after_start"] = Refusal.Invalid("To", "A time ends after it begins."),
        ["cars_plate_once"] = Refusal.Invalid("Plate", "There is already a car with this number plate."),
        ["areas_name_once"] = Refusal.Invalid("Name", "There is already an area of this name."),
        ["area_districts_once"] = Refusal.Conflict("district_taken", "One of these districts was put into another area just now. Look at the areas again."),
        ["people_user_name_once"] = Refusal.Invalid("SignInName", "Somebody already signs in with this name, or with one that looks like it. Choose another."),
        ["people_instructor_fk"] = Refusal.Invalid("InstructorId", "There is no such instructor."),
        ["people_pupil_fk"] = Refusal.Invalid("PupilId", "There is no such pupil."),
        ["ix_people_instructor_id"] = Refusal.Invalid("InstructorId", "Somebody already signs in as this instructor."),
        ["ix_people_pupil_id"] = Refusal.Invalid("PupilId", "Somebody already signs in as this pupil."),
        ["people_wear_a_hat"] = Refusal.Invalid("Parts", "Somebody who signs in has at least one hat. Close the sign-in instead."),
        ["holidays_once"] = Refusal.Invalid("Date", "This day is already on the list."),
        ["legs_arrived_after_left"] = Refusal.Invalid("Arrived", "The drive ends after it begins."),
        ["legs_instructor_once"] = Refusal.Conflict("drive_overlaps", "A drive in that time is recorded already. Delete it first if it is wrong."),
        ["legs_one_under_way"] = Refusal.Conflict("drive_under_way", "A drive is under way already."),
        ["waiting_once"] = Refusal.Conflict("already_waiting", new("This pupil is on the waiting list for that already. Change or leave that entry.", "You are on the waiting list for that already. Change or leave that entry.")),
        ["offers_one_accepted"] = Refusal.Conflict("offer_gone", "This time has gone to somebody else. You keep your place on the waiting list."),
        ["swap_answers_open_once"] = Refusal.Conflict("swap_open", "One of these lessons is in a swap that is not settled yet. Settle or drop that first."),
        ["messages_once"] = Refusal.Conflict("message_exists", "This message was already written."),
    };

    public static Refusal? Of(PostgresException problem) =>
        problem.ConstraintName is { } name ? ByConstraint.GetValueOrDefault(name) : null;
}
