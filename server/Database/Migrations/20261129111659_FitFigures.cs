using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class FitFigures : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            // Every column has a place now, the long text the last one: the table is made anew, and the added ones need not say theirs.
            migrationBuilder.DropIndex(
                name: "IX_Fits_SpotId_FittedAt",
                table: "Fits");

            migrationBuilder.AlterColumn<string>(
                name: "Standing",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .Annotation("Relational:ColumnOrder", 3);

            migrationBuilder.AlterColumn<string>(
                name: "SpotId",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .Annotation("Relational:ColumnOrder", 1);

            migrationBuilder.AlterColumn<string>(
                name: "Reason",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .Annotation("Relational:ColumnOrder", 4);

            migrationBuilder.AlterColumn<string>(
                name: "Json",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .Annotation("Relational:ColumnOrder", 13);

            migrationBuilder.AlterColumn<long>(
                name: "FittedAt",
                table: "Fits",
                type: "INTEGER",
                nullable: false,
                oldClrType: typeof(long),
                oldType: "INTEGER")
                .Annotation("Relational:ColumnOrder", 2);

            migrationBuilder.AlterColumn<long>(
                name: "DecidedAt",
                table: "Fits",
                type: "INTEGER",
                nullable: false,
                oldClrType: typeof(long),
                oldType: "INTEGER")
                .Annotation("Relational:ColumnOrder", 5);

            migrationBuilder.AlterColumn<string>(
                name: "Id",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .Annotation("Relational:ColumnOrder", 0);

            migrationBuilder.AddColumn<int>(
                name: "Format",
                table: "Fits",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<double>(
                name: "IntervalCoveragePercent",
                table: "Fits",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "LearnedFrom",
                table: "Fits",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "LearnedTo",
                table: "Fits",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<double>(
                name: "MeanOffsetKelvin",
                table: "Fits",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<double>(
                name: "ResidualScaleKelvin",
                table: "Fits",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "SampleCount",
                table: "Fits",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.CreateIndex(
                name: "IX_Fits_Format",
                table: "Fits",
                column: "Format");

            migrationBuilder.CreateIndex(
                name: "IX_Fits_SpotId_FittedAt_SampleCount_MeanOffsetKelvin",
                table: "Fits",
                columns: new[] { "SpotId", "FittedAt", "SampleCount", "MeanOffsetKelvin" });

            migrationBuilder.CreateIndex(
                name: "IX_Fits_Standing",
                table: "Fits",
                column: "Standing");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Fits_Format",
                table: "Fits");

            migrationBuilder.DropIndex(
                name: "IX_Fits_SpotId_FittedAt_SampleCount_MeanOffsetKelvin",
                table: "Fits");

            migrationBuilder.DropIndex(
                name: "IX_Fits_Standing",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "Format",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "IntervalCoveragePercent",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "LearnedFrom",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "LearnedTo",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "MeanOffsetKelvin",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "ResidualScaleKelvin",
                table: "Fits");

            migrationBuilder.DropColumn(
                name: "SampleCount",
                table: "Fits");

            migrationBuilder.AlterColumn<string>(
                name: "Standing",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .OldAnnotation("Relational:ColumnOrder", 3);

            migrationBuilder.AlterColumn<string>(
                name: "SpotId",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .OldAnnotation("Relational:ColumnOrder", 1);

            migrationBuilder.AlterColumn<string>(
                name: "Reason",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .OldAnnotation("Relational:ColumnOrder", 4);

            migrationBuilder.AlterColumn<string>(
                name: "Json",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .OldAnnotation("Relational:ColumnOrder", 13);

            migrationBuilder.AlterColumn<long>(
                name: "FittedAt",
                table: "Fits",
                type: "INTEGER",
                nullable: false,
                oldClrType: typeof(long),
                oldType: "INTEGER")
                .OldAnnotation("Relational:ColumnOrder", 2);

            migrationBuilder.AlterColumn<long>(
                name: "DecidedAt",
                table: "Fits",
                type: "INTEGER",
                nullable: false,
                oldClrType: typeof(long),
                oldType: "INTEGER")
                .OldAnnotation("Relational:ColumnOrder", 5);

            migrationBuilder.AlterColumn<string>(
                name: "Id",
                table: "Fits",
                type: "TEXT",
                nullable: false,
                oldClrType: typeof(string),
                oldType: "TEXT")
                .OldAnnotation("Relational:ColumnOrder", 0);

            migrationBuilder.CreateIndex(
                name: "IX_Fits_SpotId_FittedAt",
                table: "Fits",
                columns: new[] { "SpotId", "FittedAt" });
        }
    }
}
