using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class LimitsKnowWhoChangedThem : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "LimitChangedBy",
                table: "Spots",
                type: "TEXT",
                nullable: false,
                defaultValue: "Unknown");

            migrationBuilder.AddColumn<double>(
                name: "LimitBeforeCelsius",
                table: "AlertEvents",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "LimitChangedBy",
                table: "AlertEvents",
                type: "TEXT",
                nullable: false,
                defaultValue: "Unknown");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "LimitChangedBy",
                table: "Spots");

            migrationBuilder.DropColumn(
                name: "LimitBeforeCelsius",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "LimitChangedBy",
                table: "AlertEvents");
        }
    }
}
